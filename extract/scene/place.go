package scene

import (
	_ "embed"
	"fmt"

	"quoin/extract/scene/solid"
	"quoin/vector"
)

// Place is the name of the simulated island. It is invented, and so are its
// positions: all of them are open sea.
const Place = "Varnsey"

// Definitions of the CRS for each unit, as PROJ 9.1 writes them from the EPSG
// registry.
var (
	//go:embed wkt/metre.wkt
	wktMetre string
	//go:embed wkt/foot.wkt
	wktFoot string
	//go:embed wkt/usfoot.wkt
	wktUSFoot string
)

// A datum ties the block's local metres to a CRS.
type datum struct {
	crs    vector.CRS
	origin solid.Point // metres: CRS coordinates of the local origin
}

// crsOf returns the CRS in which a block is delivered in a unit: the island
// lies in the North Sea, and for feet off the Pacific coast, where a state
// plane in that unit reaches.
func crsOf(unit vector.Unit) (datum, error) {
	d := datum{crs: vector.CRS{Kind: vector.ProjectedCRS, Authority: "EPSG", Horizontal: unit, Vertical: unit}}
	switch unit {
	case vector.Metre:
		d.crs.Name, d.crs.Code, d.crs.VerticalCode, d.crs.WKT = "ETRS89 / UTM zone 31N + EVRF2000 height", 25831, 5730, wktMetre
		d.origin = solid.Point{X: 521400, Y: 6206300}
	case vector.Foot:
		d.crs.Name, d.crs.Code, d.crs.VerticalCode, d.crs.WKT = "NAD83 / Oregon North (ft) + NAVD88 height (ft)", 2269, 8228, wktFoot
		d.origin = solid.Point{X: 1948000, Y: 229000}
	case vector.USSurveyFoot:
		d.crs.Name, d.crs.Code, d.crs.VerticalCode, d.crs.WKT = "NAD83 / California zone 3 (ftUS) + NAVD88 height (ftUS)", 2227, 6360, wktUSFoot
		d.origin = solid.Point{X: 1558000, Y: 610000}
	default:
		return d, fmt.Errorf("no block is delivered in %q: give m, ft or usft", unit.Symbol)
	}
	return d, nil
}

// position returns the CRS coordinates of a local place.
func (d datum) position(p solid.Point) [2]float64 {
	u := d.crs.Horizontal.Metres
	return [2]float64{(p.X + d.origin.X) / u, (p.Y + d.origin.Y) / u}
}

// length returns metres in the vertical unit.
func (d datum) length(metres float64) float64 { return metres / d.crs.Vertical.Metres }

// Elevation returns that of the bare terrain, without what stands on it, at a
// place; both are in units of the CRS. Heaps of material are part of it.
func (s *Scene) Elevation(at [2]float64) float64 {
	u := s.datum.crs.Horizontal.Metres
	return s.datum.length(s.World.Terrain.Elevation(solid.Point{
		X: at[0]*u - s.datum.origin.X, Y: at[1]*u - s.datum.origin.Y,
	}))
}

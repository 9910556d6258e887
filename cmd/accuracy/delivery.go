package main

import (
	"encoding/json"
	"fmt"
	"path/filepath"
	"strings"

	"github.com/paulmach/orb"

	"quoin/vector"
	"quoin/vector/gpkg"
)

// readDelivery reads the footprints that the program left in a folder: outlines
// and corners from the GeoPackage, attributes from the projected GeoJSON.
func readDelivery(dir string) ([]vector.Footprint, error) {
	path := filepath.Join(dir, "footprints.gpkg")
	layer, err := gpkg.ReadPolygons(path, "footprints")
	if err != nil {
		return nil, err
	}
	corners, err := gpkg.ReadCorners(path)
	if err != nil {
		return nil, err
	}
	byID := make(map[string]*vector.Footprint, len(layer.IDs))
	all := make([]vector.Footprint, len(layer.IDs))
	for i, id := range layer.IDs {
		all[i] = vector.Footprint{ID: id, Polygon: layer.Polygons[i]}
		byID[id] = &all[i]
	}
	for _, c := range corners {
		f := byID[c.BuildingID]
		if f == nil || c.Ring >= len(f.Polygon) || c.Vertex >= len(f.Polygon[c.Ring]) || c.Point != f.Polygon[c.Ring][c.Vertex] {
			return nil, fmt.Errorf("%s: corner %d.%d of %s is no vertex of its footprint", path, c.Ring, c.Vertex, c.BuildingID)
		}
		f.Corners = append(f.Corners, c)
	}
	if err := readSides(path, byID); err != nil {
		return nil, err
	}
	projected := filepath.Join(dir, "footprints-projected.geojson")
	return all, features(projected, func(_ orb.Polygon, properties json.RawMessage) error {
		var p deliveredProperties
		if err := json.Unmarshal(properties, &p); err != nil {
			return err
		}
		f := byID[p.ID]
		if f == nil {
			return fmt.Errorf("footprint %s is not in the GeoPackage", p.ID)
		}
		f.GroundElevation, f.EaveHeight, f.RidgeHeight = known(p.Ground), known(p.Eave), known(p.Ridge)
		f.LowestGround, f.HighestGround, f.HighestPoint = known(p.Lowest), known(p.Highest), known(p.Top)
		f.Roof.Type = vector.RoofType(p.Roof)
		f.Quality, f.PointCount, f.EdgeRMS, f.AreaSigma = known(p.Quality), p.Points, known(p.EdgeRMS), known(p.Sigma)
		for _, reason := range strings.FieldsFunc(p.Review, func(r rune) bool { return r == ',' || r == ' ' }) {
			f.Review = append(f.Review, vector.Reason(reason))
		}
		return nil
	})
}

package topology

import (
	"math"

	"github.com/paulmach/orb"
	"github.com/peterstace/simplefeatures/geom"
)

// origin returns whole-numbered coordinates near the polygons. Taking a whole
// number off a coordinate near it is exact in binary floating point, and so is
// putting it back.
func origin(polygons ...orb.Polygon) orb.Point {
	for _, p := range polygons {
		if len(p) > 0 && len(p[0]) > 0 {
			return orb.Point{math.Floor(p[0][0][0]), math.Floor(p[0][0][1])}
		}
	}
	return orb.Point{}
}

// toGeom returns the polygon about the origin o.
func toGeom(p orb.Polygon, o orb.Point) geom.Polygon {
	rings := make([]geom.LineString, len(p))
	for i, ring := range p {
		flat := make([]float64, 0, 2*len(ring))
		for _, q := range ring {
			flat = append(flat, q[0]-o[0], q[1]-o[1])
		}
		rings[i] = geom.NewLineString(geom.NewSequence(flat, geom.DimXY))
	}
	return geom.NewPolygon(rings)
}

// fromGeom returns the polygons in g, oriented; points and lines, which are
// where areas only touch, are left out.
func fromGeom(g geom.Geometry, o orb.Point) orb.MultiPolygon {
	var multi orb.MultiPolygon
	for _, part := range g.Dump() {
		p, ok := part.AsPolygon()
		if !ok || p.IsEmpty() {
			continue
		}
		polygon := orb.Polygon{fromLineString(p.ExteriorRing(), o)}
		for i := range p.NumInteriorRings() {
			polygon = append(polygon, fromLineString(p.InteriorRingN(i), o))
		}
		multi = append(multi, Orient(polygon))
	}
	return multi
}

func fromLineString(l geom.LineString, o orb.Point) orb.Ring {
	sequence := l.Coordinates()
	ring := make(orb.Ring, sequence.Length())
	for i := range ring {
		xy := sequence.GetXY(i)
		ring[i] = orb.Point{xy.X + o[0], xy.Y + o[1]}
	}
	return ring
}

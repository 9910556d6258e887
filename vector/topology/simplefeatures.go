package topology

import (
	"math"

	"github.com/paulmach/orb"
	"github.com/peterstace/simplefeatures/geom"
)

// origin returns whole-numbered coordinates near the polygon, which is
// not empty. Taking a whole
// number off a coordinate near it is exact in binary floating point, and so is
// putting it back.
func origin(p orb.Polygon) orb.Point {
	return orb.Point{math.Floor(p[0][0][0]), math.Floor(p[0][0][1])}
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

package control

import (
	"math"

	"github.com/paulmach/orb"

	"quoin/vector"
)

// CornersOf returns the vertices of polygons from any source as corners, in
// order of polygon, ring and vertex, for matching. ids name the polygons and
// has an entry for each.
//
// The interior angle follows from the rings, whichever way they run; all
// standard errors and the elevation are NaN and the kind is empty, as nothing
// is known of them. Repeated positions give one corner. Rings need not be
// closed.
func CornersOf(polygons []orb.Polygon, ids []string) []vector.Corner {
	nan := math.NaN()
	var corners []vector.Corner
	for i, p := range polygons {
		for r, ring := range p {
			vertices := distinct(ring)
			angles := interiorAngles(vertices, r > 0)
			for v, q := range vertices {
				corners = append(corners, vector.Corner{
					BuildingID: ids[i], Ring: r, Vertex: v, Point: q, Elevation: nan,
					SigmaE: nan, SigmaN: nan, CovEN: nan, SigmaU: nan, AngleDeg: angles[v],
				})
			}
		}
	}
	return corners
}

// distinct returns the ring without its closing position and repeats.
func distinct(ring orb.Ring) []orb.Point {
	var out []orb.Point
	for _, p := range ring {
		if n := len(out); n == 0 || out[n-1] != p {
			out = append(out, p)
		}
	}
	for len(out) > 1 && out[0] == out[len(out)-1] {
		out = out[:len(out)-1]
	}
	return out
}

// interiorAngles returns the angle inside the polygon at each vertex, in
// degrees from 0 to 360; NaN for fewer than three vertices.
func interiorAngles(v []orb.Point, hole bool) []float64 {
	angles := make([]float64, len(v))
	n := len(v)
	var doubleArea float64
	for i, p := range v {
		before, after := v[(i+n-1)%n], v[(i+1)%n]
		inE, inN := p[0]-before[0], p[1]-before[1]
		outE, outN := after[0]-p[0], after[1]-p[1]
		left := math.Atan2(inE*outN-inN*outE, inE*outE+inN*outN)
		angles[i] = 180 - left*180/math.Pi
		doubleArea += (p[0]-v[0][0])*(after[1]-v[0][1]) - (after[0]-v[0][0])*(p[1]-v[0][1])
	}
	// The interior lies to the left of a counter-clockwise exterior and of a
	// clockwise hole.
	for i := range angles {
		switch {
		case n < 3:
			angles[i] = math.NaN()
		case (doubleArea > 0) == hole:
			angles[i] = 360 - angles[i]
		}
	}
	return angles
}

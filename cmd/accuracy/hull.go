package main

import (
	"cmp"
	"math"
	"slices"

	"github.com/paulmach/orb"
	"github.com/peterstace/simplefeatures/geom"
	"github.com/peterstace/simplefeatures/geos"

	"quoin/vector/topology"
)

// concaveHulls returns the concave hulls (GEOS) of the points, one by each of
// the edge lengths given: edges longer than that are dug in from outside as
// long as the hull stays in one piece. It returns none where there is no
// polygon.
//
// The library takes a ratio, which counts from the shortest edge of the
// points' triangulation to the longest. The shortest is that of the closest
// pair. The longest is not told, but the largest ratio at which the hull is no
// more convex is that of its longest edge, whose length is known.
func concaveHulls(points []orb.Point, edges []float64, holes bool) ([]orb.Polygon, error) {
	if len(points) < 4 {
		return nil, nil
	}
	o := points[0]
	all := make([]geom.Point, len(points))
	for i, p := range points {
		all[i] = geom.XY{X: p[0] - o[0], Y: p[1] - o[1]}.AsPoint()
	}
	cloud := geom.NewMultiPoint(all).AsGeometry()
	hull := func(ratio float64, holes bool) (orb.Polygon, error) {
		g, err := geos.ConcaveHull(cloud, ratio, holes)
		if err != nil || !g.IsPolygon() {
			return nil, err
		}
		return toOrb(g.MustAsPolygon(), o), nil
	}
	convex, err := hull(1, false)
	if err != nil || len(convex) == 0 {
		return nil, err
	}
	low, high := 0.0, 1.0
	for range 14 {
		ratio := (low + high) / 2
		p, err := hull(ratio, false)
		if err != nil {
			return nil, err
		}
		if len(p) > 0 && len(p[0]) > len(convex[0]) {
			low = ratio
		} else {
			high = ratio
		}
	}
	shortest, longest := closest(points), longestEdge(convex[0])
	var out []orb.Polygon
	for _, edge := range edges {
		ratio := high * (edge - shortest) / (longest - shortest)
		p, err := hull(min(max(ratio, 0), 1), holes)
		if err != nil || len(p) == 0 {
			return nil, err
		}
		out = append(out, p)
	}
	return out, nil
}

// closest returns the smallest distance between two points.
func closest(points []orb.Point) float64 {
	sorted := slices.Clone(points)
	slices.SortFunc(sorted, func(a, b orb.Point) int { return cmp.Compare(a[0], b[0]) })
	d := math.Inf(1)
	for i, p := range sorted {
		for _, q := range sorted[i+1:] {
			if q[0]-p[0] >= d {
				break
			}
			d = min(d, math.Hypot(q[0]-p[0], q[1]-p[1]))
		}
	}
	return d
}

func toOrb(g geom.Polygon, o orb.Point) orb.Polygon {
	var p orb.Polygon
	for _, ring := range g.DumpRings() {
		seq := ring.Coordinates()
		var r orb.Ring
		for i := range seq.Length() {
			xy := seq.GetXY(i)
			r = append(r, orb.Point{xy.X + o[0], xy.Y + o[1]})
		}
		p = append(p, r)
	}
	return topology.Orient(p)
}

func longestEdge(r orb.Ring) float64 {
	most := 0.0
	for i := 1; i < len(r); i++ {
		most = max(most, math.Hypot(r[i][0]-r[i-1][0], r[i][1]-r[i-1][1]))
	}
	return most
}

package main

import (
	"math"

	"github.com/paulmach/orb"
)

// A wall is one side of the true topology with the hull's vertices along it.
type wall struct {
	a, b orb.Point
	// turn is the number of right angles from its frame's direction.
	turn   int
	points []orb.Point
	middle orb.Point // of the points
	normal orb.Point
}

// squared returns a polygon of the given topology fitted to a hull: each
// vertex of the hull goes to the nearest side within reach; sides that are
// parallel or square to each other in the topology share one free direction,
// and each has a free offset. The sum of squared distances is least; the
// direction is the eigenvector of the sides' summed scatter, turned alike.
// A vertex between two sides that can't be fitted takes the nearest place of
// the hull.
func squared(hull, topologyOf orb.Polygon, reach float64) orb.Polygon {
	var out orb.Polygon
	var rings [][]*wall
	var all []*wall
	for _, ring := range topologyOf {
		var walls []*wall
		for i := range len(ring) - 1 {
			walls = append(walls, &wall{a: ring[i], b: ring[i+1]})
		}
		rings, all = append(rings, walls), append(all, walls...)
	}
	assignVertices(hull, all, reach)
	for _, frame := range frames(all) {
		fitFrame(frame)
	}
	for _, walls := range rings {
		var r orb.Ring
		for i, w := range walls {
			before := walls[(i+len(walls)-1)%len(walls)]
			p, ok := meet(before, w)
			if !ok || math.Hypot(p[0]-w.a[0], p[1]-w.a[1]) > 4*reach {
				p = nearestOf(hull, w.a)
			}
			r = append(r, p)
		}
		out = append(out, append(r, r[0]))
	}
	return out
}

func assignVertices(hull orb.Polygon, all []*wall, reach float64) {
	for _, ring := range hull {
		for _, p := range ring[:len(ring)-1] {
			var best *wall
			least := reach
			for _, w := range all {
				if d := toSide(w.a, w.b, p); d < least {
					best, least = w, d
				}
			}
			if best != nil {
				best.points = append(best.points, p)
			}
		}
	}
	for _, w := range all {
		for _, p := range w.points {
			w.middle[0] += p[0] / float64(len(w.points))
			w.middle[1] += p[1] / float64(len(w.points))
		}
	}
}

// frames gathers the walls that are parallel or square to each other to a
// tenth of a degree.
func frames(all []*wall) [][]*wall {
	const alike = 0.1 * math.Pi / 180
	var out [][]*wall
	var directions []float64
	for _, w := range all {
		d := math.Atan2(w.b[1]-w.a[1], w.b[0]-w.a[0])
		found := false
		for k, first := range directions {
			turns := math.Round((d - first) / (math.Pi / 2))
			if math.Abs(d-first-turns*math.Pi/2) < alike {
				w.turn, found = int(turns), true
				out[k] = append(out[k], w)
				break
			}
		}
		if !found {
			directions, out = append(directions, d), append(out, []*wall{w})
		}
	}
	return out
}

// fitFrame finds the walls' normals: the direction of least scatter of all.
func fitFrame(walls []*wall) {
	var xx, xy, yy float64
	for _, w := range walls {
		for _, p := range w.points {
			dx, dy := p[0]-w.middle[0], p[1]-w.middle[1]
			if w.turn%2 != 0 {
				dx, dy = dy, -dx
			}
			xx, xy, yy = xx+dx*dx, xy+dx*dy, yy+dy*dy
		}
	}
	if xx+yy == 0 {
		return
	}
	along := math.Atan2(2*xy, xx-yy) / 2
	for _, w := range walls {
		if len(w.points) >= 2 {
			sin, cos := math.Sincos(along + float64(w.turn)*math.Pi/2)
			w.normal = orb.Point{-sin, cos}
		}
	}
}

// meet returns where two walls cross; false where one has no line or they run
// alike.
func meet(v, w *wall) (orb.Point, bool) {
	det := v.normal[0]*w.normal[1] - v.normal[1]*w.normal[0]
	if math.Abs(det) < 0.05 {
		return orb.Point{}, false
	}
	// About v's middle, so that large coordinates lose nothing.
	r := w.normal[0]*(w.middle[0]-v.middle[0]) + w.normal[1]*(w.middle[1]-v.middle[1])
	return orb.Point{v.middle[0] - v.normal[1]*r/det, v.middle[1] + v.normal[0]*r/det}, true
}

// nearestOf returns the vertex of a polygon that is nearest to p.
func nearestOf(polygon orb.Polygon, p orb.Point) orb.Point {
	best, d := polygon[0][0], math.Inf(1)
	for _, ring := range polygon {
		for _, q := range ring {
			if e := math.Hypot(p[0]-q[0], p[1]-q[1]); e < d {
				best, d = q, e
			}
		}
	}
	return best
}

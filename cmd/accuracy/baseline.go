package main

import (
	"context"
	"math"

	"github.com/paulmach/orb"

	"quoin/vector"
	"quoin/vector/accuracy"
	"quoin/vector/topology"
)

// hullEdges are the edge lengths of the baseline's hulls, in spacings of the
// roof's own points. Short ones dig bays between scan lines, long ones cut
// notches; which is best depends on the scan and the building.
var hullEdges = [...]float64{1.5, 2.5, 4, 6}

// baselines outlines every building of the truth in the plain way: the concave
// hull of its roof points, squared by orthogonal least squares; once for each
// of hullEdges. It is told what extraction has to find out: which points are
// roof, whose, and how many sides there are and which of them are square to
// each other. What it gets wrong is left to drawing a line through boundary
// points.
func baselines(ctx context.Context, dir string, truth []accuracy.Building) ([len(hullEdges)][]vector.Footprint, error) {
	var all [len(hullEdges)][]vector.Footprint
	owner := newOwners(truth)
	of := make([][]orb.Point, len(truth))
	_, err := readPoints(ctx, dir, func(p orb.Point, class uint8) bool {
		if class == classRoof {
			if i := owner.of(p); i >= 0 {
				of[i] = append(of[i], p)
			}
		}
		return false
	})
	if err != nil {
		return all, err
	}
	for i, b := range truth {
		if b.Ignored || len(of[i]) < 10 {
			continue
		}
		spacing := math.Sqrt(topology.Area(b.Polygon) / float64(len(of[i])))
		var edges []float64
		for _, e := range hullEdges {
			edges = append(edges, e*spacing)
		}
		hulls, err := concaveHulls(nearOutline(of[i], b.Polygon, spacing), edges, len(b.Polygon) > 1)
		if err != nil {
			continue
		}
		for k, hull := range hulls {
			hull = courtyards(hull, b.Polygon)
			p := squared(hull, b.Polygon, 3*spacing)
			if topology.Validate(p) != nil {
				p = hull
			}
			all[k] = append(all[k], footprintOf(b.ID, p))
		}
	}
	return all, nil
}

func footprintOf(id string, p orb.Polygon) vector.Footprint {
	nan := math.NaN()
	f := vector.Footprint{ID: id, Polygon: p, GroundElevation: nan, EaveHeight: nan, RidgeHeight: nan, Quality: nan}
	for r, ring := range p {
		for v := range len(ring) - 1 {
			f.Corners = append(f.Corners, vector.Corner{
				BuildingID: id, Ring: r, Vertex: v, Point: ring[v], Elevation: nan,
				SigmaE: nan, SigmaN: nan, CovEN: nan, SigmaU: nan, Kind: vector.Adjusted,
			})
		}
	}
	return f
}

// courtyards leaves out the holes of a hull that are no true courtyard but gaps
// between points.
func courtyards(hull, truth orb.Polygon) orb.Polygon {
	kept := orb.Polygon{hull[0]}
	for _, hole := range hull[1:] {
		for _, ring := range truth[1:] {
			var middle orb.Point
			for _, p := range ring[1:] {
				middle[0] += p[0] / float64(len(ring)-1)
				middle[1] += p[1] / float64(len(ring)-1)
			}
			if inside(orb.Polygon{hole}, middle) {
				kept = append(kept, hole)
				break
			}
		}
	}
	return kept
}

// owners tells whose a roof point is.
type owners struct {
	truth []accuracy.Building
	bound []orb.Bound
}

// reach is how far outside its outline a roof point may lie for noise and beam
// width, in metres.
const reach = 0.3

func newOwners(truth []accuracy.Building) *owners {
	o := &owners{truth: truth}
	for _, b := range truth {
		o.bound = append(o.bound, b.Polygon.Bound().Pad(reach))
	}
	return o
}

// of returns the building that holds a place, else the nearest one within
// reach, else -1.
func (o *owners) of(p orb.Point) int {
	best, d := -1, reach
	for i, b := range o.truth {
		if !o.bound[i].Contains(p) {
			continue
		}
		if inside(b.Polygon, p) {
			return i
		}
		if e := toBoundary(b.Polygon, p); e < d {
			best, d = i, e
		}
	}
	return best
}

// inside reports whether a place is in a polygon, by the even-odd rule.
func inside(polygon orb.Polygon, p orb.Point) bool {
	in := false
	for _, ring := range polygon {
		for i := range len(ring) - 1 {
			a, b := ring[i], ring[i+1]
			if (a[1] > p[1]) != (b[1] > p[1]) && p[0] < a[0]+(p[1]-a[1])*(b[0]-a[0])/(b[1]-a[1]) {
				in = !in
			}
		}
	}
	return in
}

// toBoundary returns the distance of a place from the boundary of a polygon.
func toBoundary(polygon orb.Polygon, p orb.Point) float64 {
	d := math.Inf(1)
	for _, ring := range polygon {
		for i := range len(ring) - 1 {
			d = min(d, toSide(ring[i], ring[i+1], p))
		}
	}
	return d
}

func toSide(a, b, p orb.Point) float64 {
	dx, dy := b[0]-a[0], b[1]-a[1]
	t := 0.0
	if l := dx*dx + dy*dy; l > 0 {
		t = min(max(((p[0]-a[0])*dx+(p[1]-a[1])*dy)/l, 0), 1)
	}
	return math.Hypot(p[0]-a[0]-t*dx, p[1]-a[1]-t*dy)
}

// nearOutline leaves out the points that lie too deep inside to be on a hull.
func nearOutline(all []orb.Point, polygon orb.Polygon, spacing float64) []orb.Point {
	width := max(1, 8*spacing)
	var kept []orb.Point
	for _, p := range all {
		if toBoundary(polygon, p) <= width {
			kept = append(kept, p)
		}
	}
	return kept
}

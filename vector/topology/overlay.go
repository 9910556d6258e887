package topology

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"
)

// Intersection returns the area that a and b have in common, as none, one or
// several polygons, the largest first, each valid and oriented. Where they only
// touch there is none.
//
// Both must be valid; an empty one has no area. Vertices come out within 32 ulp
// of the largest coordinate (30 nm where that is some million metres). It
// returns an error for coordinates that are not finite.
//
// Both outlines are noded on a grid of 64 ulp, in exact arithmetic, and the
// edges of the result are chosen by what lies on either side. The overlay of
// the library that validity is checked with was given up: for two outlines that
// differ by rounding only, it gave the one as its difference from the other.
func Intersection(a, b orb.Polygon) (orb.MultiPolygon, error) {
	return overlay("intersection", a, b, selection{ofA: inside, ofB: inside, shared: sameWay})
}

// Difference returns the area of a that is not in b. See Intersection.
func Difference(a, b orb.Polygon) (orb.MultiPolygon, error) {
	return overlay("difference", a, b, selection{ofA: outside, ofB: inside, turnB: true, shared: oppositeWays})
}

// Union returns the area of a and b together: one polygon where they overlap
// or share an edge, else two. See Intersection.
func Union(a, b orb.Polygon) (orb.MultiPolygon, error) {
	return overlay("union", a, b, selection{ofA: outside, ofB: outside, shared: sameWay})
}

// place is where an edge of one polygon lies with respect to the other.
type place int

const (
	outside place = iota
	inside
	// sameWay and oppositeWays are on an edge of the other, with the interiors
	// on the same side of it or on either side.
	sameWay
	oppositeWays
)

// selection says which edges bound the result of an operation.
type selection struct {
	ofA, ofB place
	// turnB says that the result lies on the right of the edges of b.
	turnB bool
	// shared edges are taken once, as a has them.
	shared place
}

func overlay(name string, a, b orb.Polygon, s selection) (orb.MultiPolygon, error) {
	both := []orb.Polygon{a, b}
	l, err := newLattice(both, fineGrid(both))
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	var chains []chain
	for _, p := range both {
		for _, ring := range Orient(p) {
			chains = append(chains, l.chain(ring))
		}
	}
	noded, ok := nodeAll(chains)
	if !ok {
		return nil, fmt.Errorf("topology: %s: the outlines do not come to rest on the grid", name)
	}
	edgesA, _ := uncancelled(noded[:len(a)])
	edgesB, _ := uncancelled(noded[len(a):])
	var chosen []edge
	for _, e := range edgesA {
		if p := placed(e, edgesB); p == s.ofA || p == s.shared {
			chosen = append(chosen, e)
		}
	}
	for _, e := range edgesB {
		if placed(e, edgesA) == s.ofB {
			if s.turnB {
				e = edge{e.to, e.from}
			}
			chosen = append(chosen, e)
		}
	}
	var out orb.MultiPolygon
	for _, piece := range nest(loopsOf(chosen)) {
		out = append(out, l.polygon(piece))
	}
	return out, nil
}

// fineGrid returns a grid of 64 ulp of the largest coordinate, a power of two.
// Positions that differ by rounding fall on the same node.
func fineGrid(polygons []orb.Polygon) float64 {
	largest := math.SmallestNonzeroFloat64
	for _, p := range polygons {
		for _, ring := range p {
			for _, q := range ring {
				largest = max(largest, math.Abs(q[0]), math.Abs(q[1]))
			}
		}
	}
	_, exponent := math.Frexp(largest)
	const ulp, wide = 53, 6 // bits of a double; 2⁶ = 64
	return math.Ldexp(1, max(exponent-ulp+wide, -1000))
}

// placed returns where the edge lies with respect to the polygon that the edges
// bound. All edges are noded with each other, so its middle stands for it: a
// ray from there to the east crosses the boundary an odd number of times from
// inside.
func placed(e edge, edges []edge) place {
	middle := orb.Point{(e.from[0] + e.to[0]) / 2, (e.from[1] + e.to[1]) / 2}
	odd := false
	for _, f := range edges {
		switch {
		case f == e:
			return sameWay
		case f.from == e.to && f.to == e.from:
			return oppositeWays
		}
		lower, upper := f.from, f.to
		if lower[1] > upper[1] {
			lower, upper = upper, lower
		}
		if lower[1] <= middle[1] && middle[1] < upper[1] && turn(lower, upper, middle) > 0 {
			odd = !odd
		}
	}
	if odd {
		return inside
	}
	return outside
}

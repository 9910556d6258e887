package topology

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"
)

// lattice is the grid that vertices are snapped to. Inside, coordinates are in
// steps of the grid from base, a node of it; nodes are whole numbers there.
type lattice struct {
	// steps is the number of grid steps in a unit. Where that is a
	// whole number, dividing by it gives the double nearest to the decimal
	// number, as 500000.1234 for a grid of 0.0001.
	steps float64
	base  orb.Point
	// near is how far from a node, in steps, a coordinate that was on the node
	// can lie because doubles are not finer.
	near float64
}

// wholeShare is the relative deviation from a whole number of steps up to
// which a grid, itself a rounded decimal fraction, means that number.
const wholeShare = 1e-12

// minNear is the least distance, in steps, that counts as being on a node. At
// a grid of 0.1 mm it is 10 nm.
const minNear = 1e-4

func newLattice(polygons []orb.Polygon, grid float64) (lattice, error) {
	if !(grid > 0) || math.IsInf(grid, 0) {
		return lattice{}, fmt.Errorf("topology: snap: a grid of %v is not a length", grid)
	}
	l := lattice{steps: 1 / grid}
	if whole := math.Round(l.steps); whole >= 1 && math.Abs(l.steps/whole-1) < wholeShare {
		l.steps = whole
	}
	first, largest := true, 0.0
	for _, p := range polygons {
		for _, ring := range p {
			for _, q := range ring {
				reach := max(math.Abs(q[0]), math.Abs(q[1])) * l.steps
				if !(reach <= math.MaxFloat64) {
					return lattice{}, fmt.Errorf("topology: snap: coordinate %v %v is not a finite number", q[0], q[1])
				}
				largest = max(largest, reach)
				if first {
					l.base, first = orb.Point{math.Round(q[0] * l.steps), math.Round(q[1] * l.steps)}, false
				}
			}
		}
	}
	// Four roundings of half an ulp each: the product there, the quotient
	// back, and the same of a coordinate that came with its last digit off.
	l.near = max(minNear, 4*(math.Nextafter(largest, math.Inf(1))-largest))
	if l.near > 0.1 {
		return lattice{}, fmt.Errorf("topology: snap: a grid of %v is finer than numbers of this size can hold", grid)
	}
	return l, nil
}

// inward returns the position in steps from the base. On a node it is whole.
func (l lattice) inward(p orb.Point) orb.Point {
	for i := range p {
		v := p[i] * l.steps
		if whole := math.Round(v); math.Abs(v-whole) < l.near {
			v = whole
		}
		p[i] = v - l.base[i]
	}
	return p
}

// outward returns the position of a node in the units of the polygons. The
// same node always gives the same bits.
func (l lattice) outward(node orb.Point) orb.Point {
	for i := range node {
		node[i] = (node[i] + l.base[i]) / l.steps
	}
	return node
}

// nodeOf returns the node in whose pixel p lies. Pixels are half open: the
// left and the lower side belong to them, the right and the upper do not.
func nodeOf(p orb.Point) orb.Point {
	return orb.Point{math.Floor(p[0] + 0.5), math.Floor(p[1] + 0.5)}
}

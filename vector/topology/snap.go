package topology

import (
	"errors"

	"github.com/paulmach/orb"
)

// A Loss is area that snapping could not keep.
type Loss struct {
	// Index is that of the polygon.
	Index int
	// Area is what was lost, in squared units of the coordinates.
	Area float64
	// Reason says why, in a few words.
	Reason string
}

// Snap moves the vertices of all polygons to a common grid, once, on their
// shared graph, and returns the polygons in the same order.
//
// A vertex within half a grid step of another polygon's edge becomes a vertex
// of both; a node that several outlines pass has the same bits in each. No
// vertex moves by more than half a step in either axis, and polygons that did
// not overlap do not overlap after. Results are valid by Validate, oriented,
// and come out the same from a second snap. Vertices that make no corner are
// kept.
//
// A part narrower than the grid can vanish or come apart: then the largest
// piece is kept, and the losses say what went. A polygon of which nothing is
// left is nil. Of an invalid polygon the largest part that its rings run round
// counter-clockwise is kept where that is valid, else nothing.
//
// It returns an error for a grid that is not a length or too fine for the
// coordinates, and for coordinates that are not finite. Time O(n log n) for n
// vertices of footprints side by side.
func Snap(polygons []orb.Polygon, grid float64) ([]orb.Polygon, []Loss, error) {
	l, err := newLattice(polygons, grid)
	if err != nil {
		return nil, nil, err
	}
	var chains []chain
	first := make([]int, len(polygons)+1)
	for i, p := range polygons {
		for _, ring := range Orient(p) {
			chains = append(chains, l.chain(ring))
		}
		first[i+1] = len(chains)
	}
	chains, ok := nodeAll(chains)
	if !ok {
		return nil, nil, errors.New("topology: snap: the outlines do not come to rest on the grid")
	}
	out := make([]orb.Polygon, len(polygons))
	var losses []Loss
	for i := range polygons {
		pieces := assemble(chains[first[i]:first[i+1]])
		if len(pieces) == 0 {
			losses = append(losses, Loss{i, Area(polygons[i]), "narrower than the grid"})
			continue
		}
		largest := l.polygon(pieces[0])
		if Validate(largest) != nil {
			losses = append(losses, Loss{i, Area(polygons[i]), "not valid before it was snapped"})
			continue
		}
		out[i] = largest
		for _, piece := range pieces[1:] {
			losses = append(losses, Loss{i, Area(l.polygon(piece)), "came apart at a neck narrower than the grid"})
		}
	}
	return out, losses, nil
}

// chain returns the ring in steps, without the closing position.
func (l lattice) chain(ring orb.Ring) chain {
	c := make(chain, 0, len(ring))
	for _, p := range ring {
		c = append(c, l.inward(p))
	}
	if len(c) > 1 && c[0] == c[len(c)-1] {
		c = c[:len(c)-1]
	}
	return c
}

// polygon returns the closed rings of the chains in the original units.
func (l lattice) polygon(chains []chain) orb.Polygon {
	p := make(orb.Polygon, len(chains))
	for i, c := range chains {
		for _, node := range c {
			p[i] = append(p[i], l.outward(node))
		}
		p[i] = append(p[i], p[i][0])
	}
	return p
}

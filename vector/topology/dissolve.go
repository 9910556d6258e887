package topology

import (
	"errors"

	"github.com/paulmach/orb"
)

// Dissolve snaps the polygons to a common grid on their shared graph, as Snap
// does, and takes away the edges between polygons of the same group. It
// returns the polygons of each group, the largest first; groups run from 0 to
// the largest given, and polygons of a negative one take part in the noding and
// are returned nowhere.
//
// Polygons that tiled an area tile it afterwards, neighbours with bit-identical
// edges. Results are valid by Validate and oriented. It returns an error for a
// grid that is not a length or too fine for the coordinates, and for
// coordinates that are not finite. There must be as many groups as polygons.
func Dissolve(polygons []orb.Polygon, groups []int, grid float64) ([]orb.MultiPolygon, error) {
	if len(groups) != len(polygons) {
		return nil, errors.New("topology: dissolve: each polygon needs a group")
	}
	l, err := newLattice(polygons, grid)
	if err != nil {
		return nil, err
	}
	var chains []chain
	var of []int
	count := 0
	for i, p := range polygons {
		count = max(count, groups[i]+1)
		for _, ring := range Orient(p) {
			chains, of = append(chains, l.chain(ring)), append(of, groups[i])
		}
	}
	chains, ok := nodeAll(chains)
	if !ok {
		return nil, errors.New("topology: dissolve: the outlines do not come to rest on the grid")
	}
	out := make([]orb.MultiPolygon, count)
	for g := range out {
		var mine []chain
		for i, c := range chains {
			if of[i] == g {
				mine = append(mine, c)
			}
		}
		edges, _ := uncancelled(mine)
		for _, piece := range nest(loopsOf(edges)) {
			if p := l.polygon(piece); Validate(p) == nil {
				out[g] = append(out[g], p)
			}
		}
	}
	return out, nil
}

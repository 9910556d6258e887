package topology

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"github.com/paulmach/orb"
	"github.com/tidwall/rtree"
)

// A Pair is two overlapping polygons, I < J, and the area they have in common.
type Pair struct {
	I, J int
	Area float64
}

// touchWidth is the mean width, in coordinate units, up to which a common area
// counts as a touch: where two outlines share an edge that is not noded alike
// in both, rounding leaves slivers of this order (10⁻⁹ units at coordinates of
// millions). A micrometre lies between that and the 0.1 mm that outlines are
// snapped to.
const touchWidth = 1e-6

// Overlaps returns the pairs of polygons whose interiors meet, in order of I,
// then J. Outlines that touch do not overlap. Invalid polygons give an error.
// Time is O(n log n) for footprints that lie side by side.
func Overlaps(polygons []orb.Polygon) ([]Pair, error) {
	var index rtree.RTreeG[int]
	var pairs []Pair
	for j, p := range polygons {
		if len(p) == 0 || len(p[0]) == 0 {
			continue
		}
		b := p.Bound()
		var near []int
		index.Search(b.Min, b.Max, func(_, _ [2]float64, i int) bool {
			near = append(near, i)
			return true
		})
		for _, i := range near {
			common, err := Intersection(polygons[i], p)
			if err != nil {
				return nil, fmt.Errorf("polygons %d and %d: %w", i, j, err)
			}
			area := 0.0
			for _, c := range common {
				if a := Area(c); a > touchWidth*length(c[0])/2 {
					area += a
				}
			}
			if area > 0 {
				pairs = append(pairs, Pair{i, j, area})
			}
		}
		index.Insert(b.Min, b.Max, j)
	}
	slices.SortFunc(pairs, func(a, b Pair) int { return cmp.Or(cmp.Compare(a.I, b.I), cmp.Compare(a.J, b.J)) })
	return pairs, nil
}

func length(ring orb.Ring) float64 {
	var sum float64
	for i := 1; i < len(ring); i++ {
		sum += math.Hypot(ring[i][0]-ring[i-1][0], ring[i][1]-ring[i-1][1])
	}
	return sum
}

package form

import (
	"cmp"
	"math"
	"slices"

	"github.com/paulmach/orb"

	"quoin/vector/topology"
)

// A tile is one piece of the outline with its surface, −1 for none.
type tile struct {
	polygon orb.Polygon
	label   int32
}

// cutArea is the area, in square metres, that a cut must put right, and
// sliver that below which a piece goes to the neighbour that it shares most
// boundary with.
const (
	cutArea = 0.5
	sliver  = 1.0
	// mostRounds bounds how often slivers are given away: one is given to
	// another at most so many times.
	mostRounds = 8
)

// tile parts the outline by surface. The tiles cover it once.
func (w *work) tile() ([]tile, error) {
	cells, side := w.cells()
	if len(cells) == 0 {
		return []tile{{w.outline, -1}}, nil
	}
	g := &grower{surfaces: w.surfaces, directions: directions(w.outline), least: max(int(math.Ceil(cutArea/(side*side))), 3)}
	tree := g.grow(cells, mostDepth)
	tiles, err := tree.cutUp(w.outline, nil)
	if err != nil {
		return nil, err
	}
	if tiles, err = settle(tiles); err != nil {
		return nil, err
	}
	if tiles, err = settle(w.gatherNodes(tiles)); err != nil {
		return nil, err
	}
	return w.dropVertices(tiles), nil
}

// cutUp appends the pieces of a polygon that the tree's cuts make.
func (n *node) cutUp(p orb.Polygon, tiles []tile) ([]tile, error) {
	if n.sides[0] == nil {
		return append(tiles, tile{p, n.label}), nil
	}
	l := n.cut
	a := orb.Point{l.nx * l.d, l.ny * l.d}
	// On the left of this direction n·(x, y) is smaller.
	left, right, err := topology.Cut(p, a, orb.Point{a[0] - l.ny, a[1] + l.nx})
	if err != nil {
		return nil, err
	}
	for side, pieces := range [2]orb.MultiPolygon{left, right} {
		for _, piece := range pieces {
			if tiles, err = n.sides[side].cutUp(piece, tiles); err != nil {
				return nil, err
			}
		}
	}
	return tiles, nil
}

// settle joins tiles of one surface, and gives slivers to their neighbours
// until there are none.
func settle(tiles []tile) ([]tile, error) {
	for round := 0; ; round++ {
		polygons, groups := make([]orb.Polygon, len(tiles)), make([]int, len(tiles))
		for i, t := range tiles {
			polygons[i], groups[i] = t.polygon, int(t.label)
		}
		joined, err := topology.Dissolve(polygons, groups, grid)
		if err != nil {
			return nil, err
		}
		tiles = tiles[:0:0]
		for label, group := range joined {
			for _, p := range group {
				tiles = append(tiles, tile{p, int32(label)})
			}
		}
		if round == mostRounds || !giveAway(tiles) {
			return tiles, nil
		}
	}
}

// giveAway gives each sliver the surface of the neighbour that it shares most
// boundary with, the smallest first, and reports whether any was given.
func giveAway(tiles []tile) bool {
	order := make([]int, len(tiles))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		return cmp.Compare(topology.Area(tiles[a].polygon), topology.Area(tiles[b].polygon))
	})
	owner := make(map[[2]orb.Point]int)
	for i, t := range tiles {
		eachEdge(t.polygon, func(a, b orb.Point) { owner[[2]orb.Point{a, b}] = i })
	}
	given := false
	for _, i := range order {
		if topology.Area(tiles[i].polygon) >= sliver {
			break
		}
		shared := make([]float64, len(tiles))
		eachEdge(tiles[i].polygon, func(a, b orb.Point) {
			if j, ok := owner[[2]orb.Point{b, a}]; ok && j != i {
				shared[j] += math.Hypot(b[0]-a[0], b[1]-a[1])
			}
		})
		best := -1
		for j, length := range shared {
			if length > 0 && (best < 0 || length > shared[best]) {
				best = j
			}
		}
		if best >= 0 && tiles[best].label != tiles[i].label {
			tiles[i].label, given = tiles[best].label, true
		}
	}
	return given
}

// eachEdge calls f for every directed edge of a polygon.
func eachEdge(p orb.Polygon, f func(a, b orb.Point)) {
	for _, ring := range p {
		for i := range len(ring) - 1 {
			f(ring[i], ring[i+1])
		}
	}
}

// directions returns the normals of the sides of an outline that steps may run
// along: at most four, those of the greatest length, 5 degrees and more apart.
func directions(p orb.Polygon) [][2]float64 {
	type direction struct{ nx, ny, length float64 }
	var all []direction
	eachEdge(p, func(a, b orb.Point) {
		l := math.Hypot(b[0]-a[0], b[1]-a[1])
		if l > 0 {
			all = append(all, direction{(b[1] - a[1]) / l, -(b[0] - a[0]) / l, l})
		}
	})
	slices.SortStableFunc(all, func(a, b direction) int { return cmp.Compare(b.length, a.length) })
	const apart, mostDirections = 0.087, 4 // sine of 5 degrees
	var out [][2]float64
	for _, d := range all {
		near := func(n [2]float64) bool { return math.Abs(n[0]*d.ny-n[1]*d.nx) < apart }
		if len(out) < mostDirections && !slices.ContainsFunc(out, near) {
			out = append(out, [2]float64{d.nx, d.ny})
		}
	}
	return out
}

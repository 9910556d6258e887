package topology

import (
	"slices"

	"github.com/paulmach/orb"
	"github.com/tidwall/rtree"
)

// chain is a ring without its closing position, in steps of the lattice.
type chain []orb.Point

// nodeAll snaps the chains to the lattice: every segment is led through the
// node of each pixel it passes that holds a vertex or a crossing (snap
// rounding; Hobby 1999, Computational Geometry 13:199–214).
//
// The crossings of the first pass are computed in rounded numbers, so passes
// are repeated on their own results, whole numbers on which the predicates are
// exact, until nothing changes. It reports false if that never happens.
func nodeAll(chains []chain) ([]chain, bool) {
	// Each pass leads segments through nodes less than a step away; two
	// passes are usual. The bound is only against an endless loop.
	const maxPasses = 50
	for range maxPasses {
		noded := nodeOnce(chains)
		if slices.EqualFunc(noded, chains, slices.Equal) {
			return noded, true
		}
		chains = noded
	}
	return chains, false
}

func nodeOnce(chains []chain) []chain {
	hot := hotPixels(chains)
	var index rtree.RTreeG[orb.Point]
	for _, node := range hot {
		index.Insert(node, node, node)
	}
	noded := make([]chain, len(chains))
	for i, c := range chains {
		for j, p := range c {
			q := c[(j+1)%len(c)]
			for _, node := range passed(&index, p, q) {
				if n := len(noded[i]); n == 0 || noded[i][n-1] != node {
					noded[i] = append(noded[i], node)
				}
			}
		}
		for len(noded[i]) > 1 && noded[i][0] == noded[i][len(noded[i])-1] {
			noded[i] = noded[i][:len(noded[i])-1]
		}
	}
	return noded
}

// passed returns the hot nodes that the segment passes, in its order.
func passed(index *rtree.RTreeG[orb.Point], p, q orb.Point) []orb.Point {
	type stop struct {
		at   float64
		node orb.Point
	}
	var stops []stop
	b := orb.MultiPoint{p, q}.Bound().Pad(0.5)
	index.Search(b.Min, b.Max, func(_, _ [2]float64, node orb.Point) bool {
		if passes(p, q, node) {
			stops = append(stops, stop{along(p, q, node), node})
		}
		return true
	})
	slices.SortFunc(stops, func(a, b stop) int {
		switch {
		case a.at < b.at:
			return -1
		case a.at > b.at:
			return 1
		}
		return 0
	})
	nodes := make([]orb.Point, len(stops))
	for i, s := range stops {
		nodes[i] = s.node
	}
	return nodes
}

// hotPixels returns the nodes of all vertices and of all crossings, each once,
// in the order in which they are met.
func hotPixels(chains []chain) []orb.Point {
	seen := map[orb.Point]bool{}
	var hot []orb.Point
	heat := func(node orb.Point) {
		if !seen[node] {
			seen[node] = true
			hot = append(hot, node)
		}
	}
	type segment struct{ a, b orb.Point }
	var index rtree.RTreeG[segment]
	for _, c := range chains {
		for j, p := range c {
			heat(nodeOf(p))
			s := segment{p, c[(j+1)%len(c)]}
			b := orb.MultiPoint{s.a, s.b}.Bound()
			index.Search(b.Min, b.Max, func(_, _ [2]float64, other segment) bool {
				if x, ok := crossing(s.a, s.b, other.a, other.b); ok {
					heat(nodeOf(x))
				}
				return true
			})
			index.Insert(b.Min, b.Max, s)
		}
	}
	return hot
}

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
// The first pass leaves crossings out. Edges that lie on each other but for
// rounding cross at random places, where nothing is to be seen; led through
// each other's vertices they become one. Passes with crossings follow, on whole
// numbers, for which the predicates are exact, until nothing changes. It
// reports false if that never happens.
func nodeAll(chains []chain) ([]chain, bool) {
	// Each pass leads segments through nodes less than a step away; two
	// passes are usual. The bound is only against an endless loop.
	const maxPasses = 50
	chains = nodeOnce(chains, vertices(chains))
	for range maxPasses {
		noded := nodeOnce(chains, crossings(chains))
		if slices.EqualFunc(noded, chains, slices.Equal) {
			return noded, true
		}
		chains = noded
	}
	return chains, false
}

// nodeOnce leads every segment through the hot nodes whose pixels it passes.
func nodeOnce(chains []chain, hot []orb.Point) []chain {
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
	found := make([]orb.Point, len(stops))
	for i, s := range stops {
		found[i] = s.node
	}
	return found
}

// vertices returns the nodes of all vertices, each once, in the order in which
// they are met.
func vertices(chains []chain) []orb.Point {
	var hot nodes
	for _, c := range chains {
		for _, p := range c {
			hot.add(nodeOf(p))
		}
	}
	return hot.list
}

// crossings returns the nodes of all vertices, as vertices does, then those of
// the crossings.
func crossings(chains []chain) []orb.Point {
	var hot nodes
	for _, v := range vertices(chains) {
		hot.add(v)
	}
	type segment struct{ a, b orb.Point }
	var index rtree.RTreeG[segment]
	for _, c := range chains {
		for j, p := range c {
			s := segment{p, c[(j+1)%len(c)]}
			b := orb.MultiPoint{s.a, s.b}.Bound()
			index.Search(b.Min, b.Max, func(_, _ [2]float64, other segment) bool {
				if x, ok := crossing(s.a, s.b, other.a, other.b); ok {
					hot.add(nodeOf(x))
				}
				return true
			})
			index.Insert(b.Min, b.Max, s)
		}
	}
	return hot.list
}

// nodes is a set of nodes that remembers their order.
type nodes struct {
	list []orb.Point
	seen map[orb.Point]bool
}

func (n *nodes) add(node orb.Point) {
	if n.seen == nil {
		n.seen = map[orb.Point]bool{}
	}
	if !n.seen[node] {
		n.seen[node] = true
		n.list = append(n.list, node)
	}
}

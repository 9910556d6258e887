package topology

import (
	"cmp"
	"math"
	"math/big"
	"slices"

	"github.com/paulmach/orb"
)

// edge is a directed edge between two nodes, with the interior on its left.
type edge struct{ from, to orb.Point }

// assemble returns the polygons that the noded rings of one polygon bound,
// the largest first, in whole steps and not closed. Edges that run both ways
// bound nothing and fall out; what they leave is traced anew.
func assemble(rings []chain) [][]chain {
	edges, cancelled := uncancelled(rings)
	if len(edges) == 0 {
		return nil
	}
	if cancelled || repeats(edges) {
		return nest(loopsOf(edges))
	}
	return nest(rings)
}

// loopsOf returns the simple loops that the edges form.
func loopsOf(edges []edge) []chain {
	var loops []chain
	for _, traced := range trace(edges) {
		loops = append(loops, simpleLoops(traced)...)
	}
	return loops
}

// uncancelled returns the edges of the rings in order, without pairs that run
// both ways, and whether there were any.
func uncancelled(rings []chain) (edges []edge, cancelled bool) {
	count := map[edge]int{}
	for _, r := range rings {
		for i, p := range r {
			if q := r[(i+1)%len(r)]; p != q {
				edges = append(edges, edge{p, q})
				count[edge{p, q}]++
			}
		}
	}
	kept := edges[:0]
	drop := map[edge]int{}
	for e, n := range count {
		drop[e] = min(n, count[edge{e.to, e.from}])
	}
	for _, e := range edges {
		if drop[e] > 0 {
			drop[e]--
			cancelled = true
			continue
		}
		kept = append(kept, e)
	}
	return kept, cancelled
}

// repeats reports whether any node is left more than once.
func repeats(edges []edge) bool {
	seen := make(map[orb.Point]bool, len(edges))
	for _, e := range edges {
		if seen[e.from] {
			return true
		}
		seen[e.from] = true
	}
	return false
}

// trace joins the edges to closed loops, at each node turning as far to the
// left as can be: so a loop goes round one connected piece of the interior.
func trace(edges []edge) []chain {
	leaving := map[orb.Point][]int{}
	for i, e := range edges {
		leaving[e.from] = append(leaving[e.from], i)
	}
	used := make([]bool, len(edges))
	var loops []chain
	for first := range edges {
		var loop chain
		for at := first; at >= 0 && !used[at]; {
			used[at] = true
			loop = append(loop, edges[at].from)
			at = leftmost(edges, leaving[edges[at].to], used, edges[at])
		}
		if len(loop) > 2 {
			loops = append(loops, loop)
		}
	}
	return loops
}

// leftmost returns the unused edge that turns furthest to the left from the
// end of e; −1 when there is none.
func leftmost(edges []edge, choices []int, used []bool, e edge) int {
	best, angle := -1, 0.0
	for _, i := range choices {
		if used[i] {
			continue
		}
		// The turn to the left, from −π to π; straight back counts as a turn
		// to the right, as there is nothing between the two edges then.
		d, f := sub(e.to, e.from), sub(edges[i].to, edges[i].from)
		a := math.Atan2(products(d[0], f[1], d[1], f[0]), d[0]*f[0]+d[1]*f[1])
		if a == math.Pi {
			a = -math.Pi
		}
		if best < 0 || a > angle {
			best, angle = i, a
		}
	}
	return best
}

func sub(a, b orb.Point) orb.Point { return orb.Point{a[0] - b[0], a[1] - b[1]} }

// simpleLoops cuts a loop at the nodes it visits more than once.
func simpleLoops(loop chain) []chain {
	var loops []chain
	var path chain
	at := map[orb.Point]int{}
	for _, p := range loop {
		if start, again := at[p]; again {
			loops = append(loops, slices.Clone(path[start:]))
			for _, q := range path[start+1:] {
				delete(at, q)
			}
			path = path[:start]
		}
		at[p] = len(path)
		path = append(path, p)
	}
	return append(loops, path)
}

// nest sorts simple loops into polygons: counter-clockwise ones are exteriors,
// the others holes of the smallest exterior around them. Loops without area
// and holes in nothing are left out.
func nest(loops []chain) [][]chain {
	var polygons [][]chain
	for _, l := range loops {
		if area(l) > 0 {
			polygons = append(polygons, []chain{l})
		}
	}
	slices.SortStableFunc(polygons, func(a, b []chain) int { return cmp.Compare(area(b[0]), area(a[0])) })
	for _, l := range loops {
		if area(l) >= 0 {
			continue
		}
		for i := len(polygons) - 1; i >= 0; i-- {
			if within(l, polygons[i][0]) {
				polygons[i] = append(polygons[i], l)
				break
			}
		}
	}
	return polygons
}

// area returns the signed area of the chain, whose sign is exact: coordinates
// are whole numbers, so the sum is exact in doubles while it stays below 2⁵³, and
// is formed anew in integers when it does not.
func area(c chain) float64 {
	const exact = 1 << 53
	var double, size float64
	for i := range c {
		a, b := sub(c[i], c[0]), sub(c[(i+1)%len(c)], c[0])
		p, q := a[0]*b[1], b[0]*a[1]
		double += p - q
		size += math.Abs(p) + math.Abs(q)
	}
	if size < exact {
		return double / 2
	}
	sum := new(big.Int)
	for i := range c {
		a, b := sub(c[i], c[0]), sub(c[(i+1)%len(c)], c[0])
		sum.Add(sum, product(a[0], b[1]))
		sum.Sub(sum, product(b[0], a[1]))
	}
	double, _ = new(big.Float).SetInt(sum).Float64()
	return double / 2
}

// product returns the product of two whole numbers.
func product(a, b float64) *big.Int {
	return new(big.Int).Mul(big.NewInt(int64(a)), big.NewInt(int64(b)))
}

// within reports whether the loop lies inside the exterior. They do not cross,
// so one point off the exterior's boundary decides.
func within(loop, exterior chain) bool {
	for i, p := range loop {
		q := loop[(i+1)%len(loop)]
		for _, r := range [2]orb.Point{p, {(p[0] + q[0]) / 2, (p[1] + q[1]) / 2}} {
			if side := sideOf(r, exterior); side != 0 {
				return side > 0
			}
		}
	}
	return false
}

// sideOf returns 1 for a point inside the ring, −1 outside, 0 on it.
func sideOf(p orb.Point, ring chain) int {
	side := -1
	for i, a := range ring {
		b := ring[(i+1)%len(ring)]
		if a[1] > b[1] {
			a, b = b, a
		}
		t := turn(a, b, p)
		if t == 0 && p[1] >= a[1] && p[1] <= b[1] && p[0] >= min(a[0], b[0]) && p[0] <= max(a[0], b[0]) {
			return 0
		}
		if a[1] <= p[1] && p[1] < b[1] && t > 0 {
			side = -side
		}
	}
	return side
}

package control

import (
	"container/heap"
	"math"
	"slices"
)

// pair is a point and a corner that may be matched, and what that costs.
type pair struct {
	point, corner int
	cost          float64
}

// assign returns for each of n points the corner it gets, or −1, so that every
// corner is given once at most and the sum of the costs of the given pairs,
// and of unmatched for each point left out, is the least possible.
//
// It augments along shortest paths with potentials, point by point, which is
// the Hungarian method on a sparse graph (Jonker & Volgenant 1987, Computing
// 38:325–340). Points and corners that no chain of pairs connects never meet in
// a search, so the work is that of each connected group on its own. Costs are
// from 0 to unmatched. Equal costs go to the pair that comes first.
func assign(n, corners int, pairs []pair, unmatched float64) []int {
	a := &assignment{
		edges:    make([][]pair, n),
		cornerOf: slices.Repeat([]int{-1}, n),
		pointOf:  slices.Repeat([]int{-1}, corners+n),
		price:    make([]float64, corners+n),
		corners:  corners,
	}
	for _, p := range pairs {
		a.edges[p.point] = append(a.edges[p.point], p)
	}
	for i := range n {
		// Each point has a place of its own to be left out at.
		a.edges[i] = append(a.edges[i], pair{i, corners + i, unmatched})
	}
	for i := range n {
		a.augment(i)
	}
	for i, c := range a.cornerOf {
		if c >= corners {
			a.cornerOf[i] = -1
		}
	}
	return a.cornerOf
}

type assignment struct {
	edges [][]pair
	// cornerOf and pointOf are the assignment so far, price the potentials of
	// the corners: reduced costs, cost minus price, of assigned pairs are the
	// least of their point.
	cornerOf, pointOf []int
	price             []float64
	corners           int
}

// reached is a corner on the rim of the search.
type reached struct {
	distance float64
	corner   int
}

type rim []reached

func (r rim) Len() int      { return len(r) }
func (r rim) Swap(i, j int) { r[i], r[j] = r[j], r[i] }
func (r rim) Less(i, j int) bool {
	return r[i].distance < r[j].distance || r[i].distance == r[j].distance && r[i].corner < r[j].corner
}
func (r *rim) Push(x any) { *r = append(*r, x.(reached)) }
func (r *rim) Pop() any {
	last := (*r)[len(*r)-1]
	*r = (*r)[:len(*r)-1]
	return last
}

// augment gives point i a corner, moving others on where that is cheaper: the
// shortest path (Dijkstra) to a corner that is still free.
func (a *assignment) augment(i int) {
	distance := map[int]float64{}
	from := map[int]int{} // the point from which a corner was reached
	done := map[int]bool{}
	var settled []reached
	var open rim
	relax := func(point int, base float64) {
		for _, e := range a.edges[point] {
			d := base + e.cost - a.price[e.corner]
			if old, ok := distance[e.corner]; !done[e.corner] && (!ok || d < old) {
				distance[e.corner], from[e.corner] = d, point
				heap.Push(&open, reached{d, e.corner})
			}
		}
	}
	relax(i, 0)
	for {
		best := heap.Pop(&open).(reached)
		if done[best.corner] {
			continue
		}
		done[best.corner] = true
		owner := a.pointOf[best.corner]
		if owner < 0 {
			a.raise(settled, best.distance)
			a.flip(i, best.corner, from)
			return
		}
		settled = append(settled, best)
		relax(owner, best.distance-a.reduced(owner))
	}
}

// reduced returns the reduced cost of the pair that the point is in.
func (a *assignment) reduced(point int) float64 {
	for _, e := range a.edges[point] {
		if e.corner == a.cornerOf[point] {
			return e.cost - a.price[e.corner]
		}
	}
	return math.NaN()
}

func (a *assignment) raise(settled []reached, shortest float64) {
	for _, s := range settled {
		a.price[s.corner] -= shortest - s.distance
	}
}

// flip hands the corners on along the path that ends at the free one.
func (a *assignment) flip(start, corner int, from map[int]int) {
	for {
		point := from[corner]
		corner, a.cornerOf[point], a.pointOf[corner] = a.cornerOf[point], corner, point
		if point == start {
			return
		}
	}
}

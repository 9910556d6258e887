package extract

import (
	"slices"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"quoin/extract/cloud"
	"quoin/extract/roof"
	"quoin/vector/topology"
)

// A lattice point is a corner of cells.
type latticePoint struct{ row, col int32 }

// trace returns the outlines of a set of cells as polygons in CRS units, one
// for each part, with holes. Parts that meet only at a corner are apart.
func trace(frame cloud.Frame, cells []roof.Cell, size float64) []orb.Polygon {
	next := borders(cells)
	starts := make([]latticePoint, 0, len(next))
	for p := range next {
		starts = append(starts, p)
	}
	slices.SortFunc(starts, func(a, b latticePoint) int {
		return slices.Compare([]int32{a.row, a.col}, []int32{b.row, b.col})
	})
	var exteriors, holes []orb.Ring
	for _, p := range starts {
		for len(next[p]) > 0 {
			for _, loop := range walk(next, p) {
				ring := loop.ring(frame, size)
				if topology.SignedArea(ring) > 0 {
					exteriors = append(exteriors, ring)
				} else {
					holes = append(holes, ring)
				}
			}
		}
	}
	return nest(exteriors, holes)
}

// borders returns the sides of the cells that no other cell of the set
// shares, as steps from lattice point to lattice point with the set on the
// left.
func borders(cells []roof.Cell) map[latticePoint][]latticePoint {
	set := make(map[roof.Cell]bool, len(cells))
	for _, c := range cells {
		set[c] = true
	}
	next := make(map[latticePoint][]latticePoint)
	for _, c := range cells {
		r, k := c.Row, c.Col
		for _, side := range []struct {
			beyond   roof.Cell
			from, to latticePoint
		}{
			{roof.Cell{Row: r - 1, Col: k}, latticePoint{r, k}, latticePoint{r, k + 1}},
			{roof.Cell{Row: r, Col: k + 1}, latticePoint{r, k + 1}, latticePoint{r + 1, k + 1}},
			{roof.Cell{Row: r + 1, Col: k}, latticePoint{r + 1, k + 1}, latticePoint{r + 1, k}},
			{roof.Cell{Row: r, Col: k - 1}, latticePoint{r + 1, k}, latticePoint{r, k}},
		} {
			if !set[side.beyond] {
				next[side.from] = append(next[side.from], side.to)
			}
		}
	}
	return next
}

// A loop is a closed way along cell sides that passes no lattice point twice.
type loop []latticePoint

// walk takes the steps from start back to start out of next. Where two cells
// meet at a corner it turns left, which keeps them apart; what closes on the
// way at a point that was passed before is a loop of its own.
func walk(next map[latticePoint][]latticePoint, start latticePoint) []loop {
	var loops []loop
	path, at := loop{start}, map[latticePoint]int{start: 0}
	for {
		p := path[len(path)-1]
		k := 0
		if len(next[p]) > 1 && len(path) > 1 && !leftTurn(path[len(path)-2], p, next[p][0]) {
			k = 1
		}
		step := next[p][k]
		next[p] = slices.Delete(next[p], k, k+1)
		if from, passed := at[step]; passed {
			loops = append(loops, slices.Clone(path[from:]))
			if from == 0 {
				return loops
			}
			for _, q := range path[from+1:] {
				delete(at, q)
			}
			path = path[:from+1]
			continue
		}
		at[step] = len(path)
		path = append(path, step)
	}
}

// ring returns the loop in CRS units, closed, without vertices on straight
// sides.
func (l loop) ring(frame cloud.Frame, size float64) orb.Ring {
	var ring orb.Ring
	for i, p := range l {
		before, after := l[(i+len(l)-1)%len(l)], l[(i+1)%len(l)]
		if p.row-before.row == after.row-p.row && p.col-before.col == after.col-p.col {
			continue
		}
		ring = append(ring, frame.ToCRS(float64(p.col)*size, float64(p.row)*size))
	}
	return append(ring, ring[0])
}

func leftTurn(a, b, c latticePoint) bool {
	return (b.col-a.col)*(c.row-b.row)-(b.row-a.row)*(c.col-b.col) > 0
}

// nest gives each hole to the smallest exterior that holds it.
func nest(exteriors, holes []orb.Ring) []orb.Polygon {
	polygons := make([]orb.Polygon, len(exteriors))
	for i, e := range exteriors {
		polygons[i] = orb.Polygon{e}
	}
	for _, h := range holes {
		best := -1
		for i, e := range exteriors {
			if planar.RingContains(e, middle(h[0], h[1])) && (best < 0 || topology.SignedArea(e) < topology.SignedArea(exteriors[best])) {
				best = i
			}
		}
		if best >= 0 {
			polygons[best] = append(polygons[best], h)
		}
	}
	return polygons
}

// middle is a place on a ring's side. No two rings share a side, so it lies on
// no other ring.
func middle(a, b orb.Point) orb.Point { return orb.Point{(a[0] + b[0]) / 2, (a[1] + b[1]) / 2} }

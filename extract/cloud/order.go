package cloud

import (
	"cmp"
	"runtime"
	"slices"
	"sync"
)

type unitKey struct{ row, col int32 }

func (k unitKey) compare(o unitKey) int {
	return cmp.Or(cmp.Compare(k.row, o.row), cmp.Compare(k.col, o.col))
}

func unitKeyOf(p *Point) unitKey {
	return unitKey{floorDiv(p.Y, UnitSize), floorDiv(p.X, UnitSize)}
}

// A unitCount is the number of points of a unit, and where they begin.
type unitCount struct {
	key          unitKey
	start, count int
}

// byUnit copies points in the order of their units, and tells where each unit
// is. Points of one unit keep their order.
func byUnit(points, into []Point) []unitCount {
	of := make(map[unitKey]int)
	var units []unitCount
	last := -1 // points that come together often lie together
	place := func(p *Point) int {
		key := unitKeyOf(p)
		if last >= 0 && units[last].key == key {
			return last
		}
		u, known := of[key]
		if !known {
			u = len(units)
			of[key] = u
			units = append(units, unitCount{key: key})
		}
		last = u
		return u
	}
	for i := range points {
		units[place(&points[i])].count++
	}
	slices.SortFunc(units, func(a, b unitCount) int { return a.key.compare(b.key) })
	start := 0
	for i := range units {
		units[i].start, of[units[i].key] = start, i
		start += units[i].count
	}
	next := make([]int, len(units))
	last = -1
	for i := range points {
		u := place(&points[i])
		into[units[u].start+next[u]] = points[i]
		next[u]++
	}
	return units
}

// sortRows puts points of rows of cells of one unit in order, by way of a
// second array of their number: by cell, by counting, which leaves only a few
// points at a time to be compared, and by all fields within the cell.
func sortRows(points, second []Point, key unitKey, row0, row1 int32) {
	cell := func(p *Point) int {
		row := int(floorDiv(p.Y, indexCell) - key.row*unitCells - row0)
		col := int(floorDiv(p.X, indexCell) - key.col*unitCells)
		return row*unitCells + col
	}
	cells := int(row1-row0) * unitCells
	next := make([]int, cells+1)
	for i := range points {
		next[cell(&points[i])+1]++
	}
	for i := 1; i < len(next); i++ {
		next[i] += next[i-1]
	}
	for i := range points {
		c := cell(&points[i])
		second[next[c]] = points[i]
		next[c]++
	}
	copy(points, second)
	lo := 0
	for c := range cells {
		hi := next[c]
		slices.SortFunc(points[lo:hi], func(a, b Point) int { return less(&a, &b) })
		lo = hi
	}
}

// parallel calls f for 0 to n-1 on all cores.
func parallel(n int, f func(i int)) {
	var wg sync.WaitGroup
	slots := make(chan struct{}, runtime.GOMAXPROCS(0))
	for i := range n {
		slots <- struct{}{}
		wg.Go(func() {
			defer func() { <-slots }()
			f(i)
		})
	}
	wg.Wait()
}

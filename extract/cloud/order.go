package cloud

import (
	"runtime"
	"slices"
	"sync"
)

// sorted returns the points in canonical order: by unit, by cell within the
// unit, by all fields within the cell. Units and cells are put in order by
// counting, which leaves only a few points at a time to be compared.
func sorted(points []Point) []Point {
	units, of := unitsOf(points)
	out := make([]Point, len(points))
	next := make([]int, len(units))
	for i := 1; i < len(units); i++ {
		next[i] = next[i-1] + units[i-1].count
	}
	starts := slices.Clone(next)
	for i := range points {
		u := of[unitKeyOf(&points[i])]
		out[next[u]] = points[i]
		next[u]++
	}
	scratch := points // its content is all in out now
	parallel(len(units), func(i int) {
		lo := starts[i]
		hi := lo + units[i].count
		sortUnit(out[lo:hi], scratch[lo:hi], units[i].key)
	})
	return out
}

type unitKey struct{ row, col int32 }

type unitCount struct {
	key   unitKey
	count int
}

func unitKeyOf(p *Point) unitKey {
	return unitKey{floorDiv(p.Y, UnitSize), floorDiv(p.X, UnitSize)}
}

// unitsOf counts points by unit, in order, and gives each unit's place in it.
func unitsOf(points []Point) (units []unitCount, of map[unitKey]int) {
	counts := make(map[unitKey]int)
	for i := range points {
		counts[unitKeyOf(&points[i])]++
	}
	for key, n := range counts {
		units = append(units, unitCount{key, n})
	}
	slices.SortFunc(units, func(a, b unitCount) int {
		return firstNonZero(int(a.key.row)-int(b.key.row), int(a.key.col)-int(b.key.col))
	})
	of = make(map[unitKey]int, len(units))
	for i, u := range units {
		of[u.key] = i
	}
	return units, of
}

// sortUnit puts the points of one unit in order, by way of scratch.
func sortUnit(points, scratch []Point, key unitKey) {
	cell := func(p *Point) int {
		row := int(floorDiv(p.Y, indexCell) - key.row*unitCells)
		col := int(floorDiv(p.X, indexCell) - key.col*unitCells)
		return row*unitCells + col
	}
	next := make([]int, unitCells*unitCells+1)
	for i := range points {
		next[cell(&points[i])+1]++
	}
	for i := 1; i < len(next); i++ {
		next[i] += next[i-1]
	}
	for i := range points {
		c := cell(&points[i])
		scratch[next[c]] = points[i]
		next[c]++
	}
	copy(points, scratch)
	lo := 0
	for c := range unitCells * unitCells {
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

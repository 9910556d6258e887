package extract

import (
	"math"

	"quoin/extract/cloud"
)

// nearestOccupied returns for each cell of a grid the occupied cell nearest to
// it; -1 everywhere when none is occupied. It is exact and linear in the cells:
// the lower envelope of parabolas of Felzenszwalb & Huttenlocher 2012 (Theory
// of Computing 8, 415–428), which keeps the source of each distance.
func nearestOccupied(g cloud.Grid, occupied func(cell int) bool) []int32 {
	source := make([]int32, g.Len())
	inColumn := make([]int32, g.Len()) // nearest occupied row in the cell's column
	for col := range g.Cols {
		alongColumn(g, col, occupied, inColumn)
	}
	e := envelope{place: make([]int, 0, g.Cols), from: make([]float64, 0, g.Cols)}
	for row := range g.Rows {
		e.alongRow(g, row, inColumn, source)
	}
	return source
}

// alongColumn finds the nearest occupied row for each cell of a column; -1
// when the column has none.
func alongColumn(g cloud.Grid, col int, occupied func(cell int) bool, nearest []int32) {
	last := int32(-1)
	for row := range g.Rows {
		if occupied(row*g.Cols + col) {
			last = int32(row)
		}
		nearest[row*g.Cols+col] = last
	}
	last = -1
	for row := g.Rows - 1; row >= 0; row-- {
		c := row*g.Cols + col
		if nearest[c] == int32(row) {
			last = int32(row)
		}
		if last >= 0 && (nearest[c] < 0 || last-int32(row) < int32(row)-nearest[c]) {
			nearest[c] = last
		}
	}
}

// An envelope is the parabolas that are lowest somewhere in a row: the column
// each stands in, and the place from which on it is the lowest.
type envelope struct {
	place []int
	from  []float64
}

func (e *envelope) alongRow(g cloud.Grid, row int, inColumn, source []int32) {
	e.place, e.from = e.place[:0], e.from[:0]
	base := row * g.Cols
	height := func(col int) float64 { // squared distance within the column
		d := float64(int(inColumn[base+col]) - row)
		return d * d
	}
	for col := range g.Cols {
		if inColumn[base+col] >= 0 {
			e.add(col, height)
		}
	}
	k := 0
	for col := range g.Cols {
		if len(e.place) == 0 {
			source[base+col] = -1
			continue
		}
		for k+1 < len(e.place) && e.from[k+1] <= float64(col) {
			k++
		}
		q := e.place[k]
		source[base+col] = inColumn[base+q]*int32(g.Cols) + int32(q)
	}
}

// add puts a parabola into the envelope and takes those out that it hides.
func (e *envelope) add(col int, height func(col int) float64) {
	from := math.Inf(-1)
	for n := len(e.place); n > 0; n-- {
		q := e.place[n-1]
		x, y := float64(col), float64(q)
		from = (height(col) + x*x - height(q) - y*y) / (2 * (x - y))
		if from > e.from[n-1] {
			break
		}
		e.place, e.from = e.place[:n-1], e.from[:n-1]
		from = math.Inf(-1)
	}
	e.place, e.from = append(e.place, col), append(e.from, from)
}

// distanceSq returns the squared distance of two cells, in cells.
func distanceSq(g cloud.Grid, a, b int) int {
	dr, dc := a/g.Cols-b/g.Cols, a%g.Cols-b%g.Cols
	return dr*dr + dc*dc
}

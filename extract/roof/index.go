package roof

import (
	"math"

	"quoin/extract/cloud"
)

// A spot is a point in an index: its place in steps of the block, so that
// differences are exact wherever the index begins, and its position among the
// points that were indexed.
type spot struct{ x, y, z, at int32 }

// An index finds the points about a place. Its cells are anchored on the
// frame's origin, and points keep their order within a cell: the order in
// which neighbours are met follows from the points alone.
type index struct {
	cell  int32 // steps
	row0  int32
	col0  int32
	rows  int32
	cols  int32
	start []int32
	spots []spot
}

// newIndex indexes the given points, which are in canonical order and lie in
// the rectangle. The cell, in metres, is rounded down to a power of two.
func newIndex(b *cloud.Block, ids []int32, r cloud.Rect, cell float64) *index {
	cell = math.Exp2(math.Floor(math.Log2(cell)))
	g := cloud.NewGrid(r.Pad(cell), cell)
	x := &index{
		cell: int32(math.Round(cell / cloud.Step)), row0: int32(g.Row0), col0: int32(g.Col0),
		rows: int32(g.Rows), cols: int32(g.Cols), start: make([]int32, g.Len()+1), spots: make([]spot, len(ids)),
	}
	for _, id := range ids {
		x.start[x.cellOf(&b.Points[id])+1]++
	}
	for c := range g.Len() {
		x.start[c+1] += x.start[c]
	}
	next := append([]int32(nil), x.start[:g.Len()]...)
	for k, id := range ids {
		p := &b.Points[id]
		c := x.cellOf(p)
		x.spots[next[c]] = spot{p.X, p.Y, p.Z, int32(k)}
		next[c]++
	}
	return x
}

func (x *index) cellOf(p *cloud.Point) int32 {
	row := min(max(floorDiv(p.Y, x.cell)-x.row0, 0), x.rows-1)
	col := min(max(floorDiv(p.X, x.cell)-x.col0, 0), x.cols-1)
	return row*x.cols + col
}

func floorDiv(v, d int32) int32 {
	q := v / d
	if v%d < 0 {
		q--
	}
	return q
}

// A window is a range of cells.
type window struct{ row0, row1, col0, col1 int32 }

// window returns the cells within a distance of a place, all in steps.
func (x *index) window(px, py, radius int32) window {
	return window{
		max(floorDiv(py-radius, x.cell)-x.row0, 0), min(floorDiv(py+radius, x.cell)-x.row0, x.rows-1),
		max(floorDiv(px-radius, x.cell)-x.col0, 0), min(floorDiv(px+radius, x.cell)-x.col0, x.cols-1),
	}
}

// row returns the spots of a window in one of its rows.
func (x *index) row(w window, row int32) []spot {
	return x.spots[x.start[row*x.cols+w.col0]:x.start[row*x.cols+w.col1+1]]
}

func steps(metres float64) int32 { return int32(math.Round(metres / cloud.Step)) }

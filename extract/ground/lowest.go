package ground

import (
	"math"

	"quoin/extract/cloud"
)

// lowest holds the lowest point of every cell: its elevation, NaN in a cell
// without one, and its index in the block.
type lowest struct {
	cloud.Grid
	z     []float32
	index []int
}

var nan32 = float32(math.NaN())

func newLowest(g cloud.Grid) *lowest {
	l := &lowest{Grid: g, z: make([]float32, g.Len()), index: make([]int, g.Len())}
	for i := range l.z {
		l.z[i] = nan32
	}
	return l
}

// window returns the part of a rectangle that holds points, grown to whole
// coarse cells; it is empty where there are none. Beyond the data there is
// nothing to work on, and the terrain's rim should lie where the data end.
func window(b *cloud.Block, r cloud.Rect) cloud.Rect {
	minX, minY := int32(math.MaxInt32), int32(math.MaxInt32)
	maxX, maxY := int32(math.MinInt32), int32(math.MinInt32)
	for s := range b.Spans(r) {
		for i := s.Lo; i < s.Hi; i++ {
			p := &b.Points[i]
			minX, maxX = min(minX, p.X), max(maxX, p.X)
			minY, maxY = min(minY, p.Y), max(maxY, p.Y)
		}
	}
	if minX > maxX {
		return cloud.Rect{}
	}
	part := r.Intersect(cloud.Rect{
		MinX: float64(minX) * cloud.Step, MinY: float64(minY) * cloud.Step,
		MaxX: float64(maxX+1) * cloud.Step, MaxY: float64(maxY+1) * cloud.Step,
	})
	if part.Empty() {
		return cloud.Rect{}
	}
	return cloud.NewGrid(part, coarse).Bounds()
}

// locator finds the cell of packed coordinates in a grid.
type locator struct {
	x0, y0, cell int64
	rows, cols   int64
}

func newLocator(g cloud.Grid) locator {
	cell := int64(math.Round(g.Cell / cloud.Step))
	return locator{int64(g.Col0) * cell, int64(g.Row0) * cell, cell, int64(g.Rows), int64(g.Cols)}
}

// of returns the cell's index, or -1 outside the grid.
func (l *locator) of(p *cloud.Point) int {
	x, y := int64(p.X)-l.x0, int64(p.Y)-l.y0
	if x < 0 || y < 0 {
		return -1
	}
	col, row := x/l.cell, y/l.cell
	if col >= l.cols || row >= l.rows {
		return -1
	}
	return int(row*l.cols + col)
}

// lowestPoints returns the lowest point of each cell of a grid. Of equally low
// ones it takes the first in canonical order.
func lowestPoints(b *cloud.Block, g cloud.Grid) *lowest {
	l, at := newLowest(g), newLocator(g)
	low := make([]int32, g.Len())
	for i := range low {
		low[i] = math.MaxInt32
	}
	for s := range b.Spans(g.Bounds()) {
		for i := s.Lo; i < s.Hi; i++ {
			p := &b.Points[i]
			if c := at.of(p); c >= 0 && p.Z < low[c] {
				low[c] = p.Z
				l.index[c] = i
			}
		}
	}
	for c, z := range low {
		if z != math.MaxInt32 {
			l.z[c] = float32(float64(z) * cloud.Step)
		}
	}
	return l
}

// gather returns the lowest points in cells n times the side.
func (l *lowest) gather(n int) *lowest {
	if n == 1 {
		return l
	}
	out := newLowest(cloud.Grid{
		Cell: l.Cell * float64(n), Row0: l.Row0 / n, Col0: l.Col0 / n, Rows: l.Rows / n, Cols: l.Cols / n,
	})
	for row := range l.Rows {
		for col := range l.Cols {
			from, to := row*l.Cols+col, row/n*out.Cols+col/n
			if z := l.z[from]; z == z && !(z >= out.z[to]) {
				out.z[to], out.index[to] = z, l.index[from]
			}
		}
	}
	return out
}

// empty reports whether no cell holds a point.
func (l *lowest) empty() bool {
	for _, z := range l.z {
		if z == z {
			return false
		}
	}
	return true
}

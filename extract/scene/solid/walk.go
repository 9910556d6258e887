package solid

import "math"

// A walk steps a ray through the cells of a square grid in order (Amanatides &
// Woo 1987, Eurographics, "A fast voxel traversal algorithm for ray tracing").
type walk struct {
	t                float64 // where the ray enters the cell
	col, row         int
	stepCol, stepRow int
	nextCol, nextRow float64 // where it crosses the next border
	perCol, perRow   float64
}

func newWalk(g *Grid, r Ray, cells int, t float64) walk {
	size := g.cell * float64(cells)
	u, v := (r.Origin.X+r.Dir.X*t-g.x0)/size, (r.Origin.Y+r.Dir.Y*t-g.y0)/size
	w := walk{t: t, col: int(math.Floor(u)), row: int(math.Floor(v))}
	w.stepCol, w.nextCol, w.perCol = axis(u, r.Dir.X/size, t)
	w.stepRow, w.nextRow, w.perRow = axis(v, r.Dir.Y/size, t)
	return w
}

func axis(u, speed, t float64) (step int, next, per float64) {
	switch {
	case speed > 0:
		return 1, t + (math.Floor(u)+1-u)/speed, 1 / speed
	case speed < 0:
		return -1, t + (math.Floor(u)-u)/speed, -1 / speed
	}
	return 0, math.Inf(1), math.Inf(1)
}

func (w *walk) inside(cols, rows int) bool {
	return w.col >= 0 && w.row >= 0 && w.col < cols && w.row < rows
}

// next returns where the ray leaves the cell.
func (w *walk) next() float64 { return min(w.nextCol, w.nextRow) }

// step goes on to the next cell.
func (w *walk) step() {
	if w.nextCol < w.nextRow {
		w.t = w.nextCol
		w.col += w.stepCol
		w.nextCol += w.perCol
		return
	}
	w.t = w.nextRow
	w.row += w.stepRow
	w.nextRow += w.perRow
}

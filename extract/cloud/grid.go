package cloud

import "math"

// A Rect is an axis-parallel rectangle in local metres, half open: it holds
// its lower and left edges and not the others.
type Rect struct{ MinX, MinY, MaxX, MaxY float64 }

// Pad returns the rectangle grown by d on every side.
func (r Rect) Pad(d float64) Rect { return Rect{r.MinX - d, r.MinY - d, r.MaxX + d, r.MaxY + d} }

// Contains reports whether the rectangle holds the position.
func (r Rect) Contains(x, y float64) bool {
	return x >= r.MinX && x < r.MaxX && y >= r.MinY && y < r.MaxY
}

// Intersect returns what two rectangles share; it is empty when that is
// nothing.
func (r Rect) Intersect(o Rect) Rect {
	return Rect{max(r.MinX, o.MinX), max(r.MinY, o.MinY), min(r.MaxX, o.MaxX), min(r.MaxY, o.MaxY)}
}

// Empty reports whether the rectangle holds nothing.
func (r Rect) Empty() bool { return r.MinX >= r.MaxX || r.MinY >= r.MaxY }

// Union returns the smallest rectangle that holds both; an empty one adds
// nothing.
func (r Rect) Union(o Rect) Rect {
	switch {
	case r.Empty():
		return o
	case o.Empty():
		return r
	}
	return Rect{min(r.MinX, o.MinX), min(r.MinY, o.MinY), max(r.MaxX, o.MaxX), max(r.MaxY, o.MaxY)}
}

// A Grid is a raster's geometry: square cells of the given size in metres,
// numbered from the frame's origin, of which it covers Rows × Cols from
// (Row0, Col0). Row numbers grow to the north.
type Grid struct {
	Cell       float64
	Row0, Col0 int
	Rows, Cols int
}

// NewGrid returns the grid of cells that a rectangle touches.
func NewGrid(r Rect, cell float64) Grid {
	row, col := int(math.Floor(r.MinY/cell)), int(math.Floor(r.MinX/cell))
	return Grid{
		Cell: cell, Row0: row, Col0: col,
		Rows: max(int(math.Ceil(r.MaxY/cell))-row, 0), Cols: max(int(math.Ceil(r.MaxX/cell))-col, 0),
	}
}

// Len returns the number of cells.
func (g Grid) Len() int { return g.Rows * g.Cols }

// Index returns the index of the cell that holds a position, and whether the
// grid covers it.
func (g Grid) Index(x, y float64) (int, bool) {
	row, col := int(math.Floor(y/g.Cell))-g.Row0, int(math.Floor(x/g.Cell))-g.Col0
	if row < 0 || col < 0 || row >= g.Rows || col >= g.Cols {
		return 0, false
	}
	return row*g.Cols + col, true
}

// Centre returns the middle of the cell with the given index.
func (g Grid) Centre(i int) (x, y float64) {
	return (float64(g.Col0+i%g.Cols) + 0.5) * g.Cell, (float64(g.Row0+i/g.Cols) + 0.5) * g.Cell
}

// Bounds returns the rectangle that the grid covers.
func (g Grid) Bounds() Rect {
	return Rect{
		float64(g.Col0) * g.Cell, float64(g.Row0) * g.Cell,
		float64(g.Col0+g.Cols) * g.Cell, float64(g.Row0+g.Rows) * g.Cell,
	}
}

// A Raster holds one value a cell, rows from south to north.
type Raster[T any] struct {
	Grid
	Values []T
}

// NewRaster returns a raster of zero values.
func NewRaster[T any](g Grid) *Raster[T] {
	return &Raster[T]{Grid: g, Values: make([]T, g.Len())}
}

// Bilinear interpolates between the centres of the four cells about a
// position; outside the grid it takes the nearest cell. NaN cells are left
// out; where all four are NaN, so is the result.
func Bilinear(r *Raster[float32], x, y float64) float64 {
	u, v := x/r.Cell-0.5-float64(r.Col0), y/r.Cell-0.5-float64(r.Row0)
	col, row := int(math.Floor(u)), int(math.Floor(v))
	fu, fv := u-float64(col), v-float64(row)
	var sum, weight float64
	for dr := range 2 {
		for dc := range 2 {
			w := lerp(fu, dc) * lerp(fv, dr)
			z := float64(r.Values[clamp(row+dr, r.Rows)*r.Cols+clamp(col+dc, r.Cols)])
			if w > 0 && z == z {
				sum += w * z
				weight += w
			}
		}
	}
	return sum / weight
}

func lerp(f float64, upper int) float64 {
	if upper == 1 {
		return f
	}
	return 1 - f
}

func clamp(i, n int) int { return min(max(i, 0), n-1) }

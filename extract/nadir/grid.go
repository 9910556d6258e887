package nadir

import (
	"math"

	"github.com/paulmach/orb"
)

// A Grid is where the pixels of an image lie, in CRS units: squares whose edges
// are whole multiples of Pixel, so that images of neighbouring blocks join up. Rows
// run from north to south.
type Grid struct {
	Pixel float64
	// Column0 and Row0 number the first column and row from the origin of the
	// CRS: the left edge is at Column0·Pixel, the top at −Row0·Pixel.
	Column0, Row0 int
	Columns, Rows int
}

// NewGrid returns the grid of pixels that a place touches; it has at least one.
func NewGrid(b orb.Bound, pixel float64) Grid {
	left, top := int(math.Floor(b.Min[0]/pixel)), int(math.Floor(-b.Max[1]/pixel))
	return Grid{
		Pixel: pixel, Column0: left, Row0: top,
		Columns: max(int(math.Ceil(b.Max[0]/pixel))-left, 1), Rows: max(int(math.Ceil(-b.Min[1]/pixel))-top, 1),
	}
}

// Bound returns the place that the pixels cover.
func (g Grid) Bound() orb.Bound {
	return orb.Bound{
		Min: orb.Point{g.edge(g.Column0), -g.edge(g.Row0 + g.Rows)},
		Max: orb.Point{g.edge(g.Column0 + g.Columns), -g.edge(g.Row0)},
	}
}

// edge returns n pixels, as the number nearest to it: 0.2 has none of its own,
// five to the unit has.
func (g Grid) edge(n int) float64 {
	const rounding = 1e-12
	if each := math.Round(1 / g.Pixel); each > 1 && math.Abs(each*g.Pixel-1) < rounding {
		return float64(n) / each
	}
	return float64(n) * g.Pixel
}

// pixel returns the column and row that hold a position, and whether the grid
// has them.
func (g Grid) pixel(x, y float64) (column, row int, ok bool) {
	u, v := math.Floor(x/g.Pixel)-float64(g.Column0), math.Floor(-y/g.Pixel)-float64(g.Row0)
	if !(u >= 0 && v >= 0 && u < float64(g.Columns) && v < float64(g.Rows)) {
		return 0, 0, false
	}
	return int(u), int(v), true
}

// RoundPixel returns the largest pixel size of the series 1, 2, 2.5, 5 times a power of
// ten that is not above a spacing.
func RoundPixel(spacing float64) float64 {
	power := math.Pow(10, math.Floor(math.Log10(spacing)))
	const rounding = 1e-9
	for _, f := range []float64{10, 5, 2.5, 2} {
		if f*power <= spacing*(1+rounding) {
			return f * power
		}
	}
	return power
}

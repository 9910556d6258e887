package ground

import (
	"math"

	"quoin/extract/cloud"
)

// refitMargin is how far beyond the core, in metres, the fine cells are worked:
// farther away nothing reaches the core that the rough terrain does not hold.
const refitMargin = 24

const (
	// settleRounds is how often cells are admitted anew.
	settleRounds = 5
	// admitBase and admitSlope give the band of a cell's lowest point about
	// the surface: metres, and metres a metre of cell and slope. It reaches
	// lower than higher, for lowest points lie below and objects above (in the
	// spirit of Kraus and Pfeifer 1998).
	admitBase, admitSlope, admitBelow = 0.15, 0.45, 0.2
	// smoothRadius is the radius, in metres, of the surface that cells are
	// held against.
	smoothRadius = 1.0
	// slopeShare is how much of the fall across a cell a ground point may be
	// off its surface by.
	slopeShare = 0.2
)

// A refit fits the surface in fine cells of a part of the window: heights
// above the rough terrain.
type refit struct {
	cloud.Grid
	base  []float32 // the rough terrain at the cells' centres
	slope []float32
	above layer  // the lowest points above the base, NaN where there is none
	fine  layer  // the surface above the base
	held  []bool // cells whose lowest point is on the surface
	o     Options
}

func newRefit(low *lowest, rough *cloud.Raster[float32], part cloud.Grid, o Options) *refit {
	n := part.Len()
	r := &refit{
		Grid: part, base: make([]float32, n), held: make([]bool, n), o: o,
		above: layer{part.Rows, part.Cols, make([]float32, n)},
		fine:  layer{part.Rows, part.Cols, make([]float32, n)},
	}
	for i := range n {
		x, y := part.Centre(i)
		r.base[i] = float32(cloud.Bilinear(rough, x, y))
		r.above.v[i] = low.at(part.Row0-low.Row0+i/part.Cols, part.Col0-low.Col0+i%part.Cols) - r.base[i]
	}
	r.slope = steepness(layer{part.Rows, part.Cols, r.base}, part.Cell)
	return r
}

// settle alternates between the smoothed surface of the cells held and holding
// the cells near it.
func (r *refit) settle() {
	r.hold()
	for range settleRounds {
		r.fine = smooth(fill(r.masked(r.above.v)), max(int(math.Round(smoothRadius/r.Cell)), 1))
		r.hold()
	}
}

func (r *refit) hold() {
	for i, v := range r.above.v {
		e := v - r.fine.v[i]
		b := float32(max(admitBase, r.o.Tolerance) + admitSlope*r.Cell*float64(r.slope[i]))
		r.held[i] = e < b && e > -admitBelow-2*b
	}
}

func (r *refit) masked(v []float32) layer {
	out := layer{r.Rows, r.Cols, make([]float32, len(v))}
	for i, held := range r.held {
		out.v[i] = nan32
		if held {
			out.v[i] = v[i]
		}
	}
	return out
}

// bands are the half-widths, in tolerances, within which points move the
// surface to their mean.
var bands = [...]float64{3, 2, 1.25}

// centre moves the surface from the lowest points of cells to the middle of
// all ground points, by their mean in bands that get narrower.
func (r *refit) centre(b *cloud.Block) {
	for _, band := range bands {
		sum, n := r.residuals(b, band)
		for i := range r.held {
			r.held[i] = r.held[i] && n[i] > 0
			if r.held[i] {
				r.fine.v[i] += float32(sum[i] / float64(n[i]))
			}
		}
		r.fine = fill(r.masked(r.fine.v))
	}
}

// residuals sums the heights above the surface of the points in a band, by
// cell, in canonical order.
func (r *refit) residuals(b *cloud.Block, band float64) (sum []float64, n []int32) {
	surface := &cloud.Raster[float32]{Grid: r.Grid, Values: make([]float32, r.Len())}
	for i := range surface.Values {
		surface.Values[i] = r.base[i] + r.fine.v[i]
	}
	sum, n = make([]float64, r.Len()), make([]int32, r.Len())
	at := newLocator(r.Grid)
	for s := range b.Spans(r.Bounds()) {
		for i := s.Lo; i < s.Hi; i++ {
			p := &b.Points[i]
			c := at.of(p)
			if c < 0 || !r.held[c] {
				continue
			}
			e := p.Up() - cloud.Bilinear(surface, p.East(), p.North())
			if math.Abs(e) <= band*r.o.Tolerance+slopeShare*r.Cell*float64(r.slope[c]) {
				sum[c] += e
				n[c]++
			}
		}
	}
	return sum, n
}

// write puts the surface and where it is interpolated into a core's cells.
// Cells outside the part take the nearest one's value.
func (r *refit) write(out *Surface) {
	near := layer{r.Rows, r.Cols, make([]float32, r.Len())}
	for i, held := range r.held {
		if held {
			near.v[i] = 1
		}
	}
	near = extreme(near, max(int(r.o.Reach/r.Cell), 1), greater)
	g := out.Z.Grid
	for i := range out.Z.Values {
		row, col := g.Row0+i/g.Cols-r.Row0, g.Col0+i%g.Cols-r.Col0
		inside := uint(row) < uint(r.Rows) && uint(col) < uint(r.Cols)
		at := min(max(row, 0), r.Rows-1)*r.Cols + min(max(col, 0), r.Cols-1)
		out.Z.Values[i] = r.base[at] + r.fine.v[at]
		out.Interpolated.Values[i] = !inside || near.v[at] == 0
	}
}

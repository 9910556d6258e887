package ground

import (
	"math"

	"quoin/extract/cloud"
)

// Height returns each point's height above a surface in metres, parallel to
// the block's points: interpolated between cell centres, NaN where the surface
// is.
func Height(b *cloud.Block, z *cloud.Raster[float32]) []float32 {
	out := make([]float32, len(b.Points))
	HeightInto(out, b, z, cloud.Span{Lo: 0, Hi: len(b.Points)})
	return out
}

// HeightInto writes the heights of one run of points to their places in out,
// which is parallel to the block's points. Runs may be worked at the same
// time.
func HeightInto(out []float32, b *cloud.Block, z *cloud.Raster[float32], s cloud.Span) {
	if z.Len() == 0 {
		for i := s.Lo; i < s.Hi; i++ {
			out[i] = nan32
		}
		return
	}
	for i := s.Lo; i < s.Hi; i++ {
		p := &b.Points[i]
		out[i] = float32(p.Up() - cloud.Bilinear(z, p.East(), p.North()))
	}
}

// wallSlope is the fall between neighbouring cells, rise over run, from which
// on it is a wall. Within a cell of it the surface knows how high the ground is
// on either side, but not where the wall stands and how it leans.
const wallSlope = 1.0

// Mask reports which points are ground, parallel to the block's points: those
// whose height is within the tolerance, widened by slopeShare of what the
// terrain falls across a cell, and beside walls those between the levels of
// both sides. Points of unknown height are not.
func Mask(b *cloud.Block, z *cloud.Raster[float32], heights []float32, o Options) []bool {
	out := make([]bool, len(b.Points))
	MaskInto(out, b, z, heights, o, cloud.Span{Lo: 0, Hi: len(b.Points)})
	return out
}

// MaskInto writes what Mask returns for one run of points to out, which begins
// with the first of them. Runs may be worked at the same time.
func MaskInto(out []bool, b *cloud.Block, z *cloud.Raster[float32], heights []float32, o Options, s cloud.Span) {
	if z.Len() == 0 {
		return
	}
	surface, step := layer{z.Rows, z.Cols, z.Values}, float32(max(wallSlope*z.Cell, 2*o.Tolerance))
	at, last, more := newLocator(z.Grid), -1, 0.0
	foot, top := math.Inf(1), math.Inf(-1)
	for i := s.Lo; i < s.Hi; i++ {
		p := &b.Points[i]
		if c := at.of(p); c != last {
			last, more = c, 0
			foot, top = math.Inf(1), math.Inf(-1)
			if c >= 0 {
				if slope := steepnessAt(surface, z.Cell, c); slope == slope {
					more = slopeShare * z.Cell * float64(slope)
				}
				foot, top = wallAt(surface, step, c)
			}
		}
		on := math.Abs(float64(heights[i])) <= o.Tolerance+more
		out[i-s.Lo] = on || p.Up() >= foot-o.Tolerance && p.Up() <= top+o.Tolerance
	}
}

// wallAt returns the least and the greatest height of a cell and of those of
// its four neighbours that it is parted from by a step: infinite, with the least
// above, where there is none.
func wallAt(l layer, step float32, i int) (foot, top float64) {
	foot, top = math.Inf(1), math.Inf(-1)
	row, col := i/l.cols, i%l.cols
	for _, o := range [4]offset{{-1, 0}, {0, -1}, {0, 1}, {1, 0}} {
		r, c := row+o.row, col+o.col
		if uint(r) >= uint(l.rows) || uint(c) >= uint(l.cols) {
			continue
		}
		here, there := l.v[i], l.v[r*l.cols+c]
		if d := there - here; d > step || d < -step {
			foot, top = min(foot, float64(min(here, there))), max(top, float64(max(here, there)))
		}
	}
	return foot, top
}

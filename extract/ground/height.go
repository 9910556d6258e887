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

// Mask reports which points are ground, parallel to the block's points: those
// whose height is within the tolerance, widened by slopeShare of what the
// terrain falls across a cell. Points of unknown height are not.
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
	surface := layer{z.Rows, z.Cols, z.Values}
	at, last, more := newLocator(z.Grid), -1, 0.0
	for i := s.Lo; i < s.Hi; i++ {
		if c := at.of(&b.Points[i]); c != last {
			last, more = c, 0
			if c >= 0 {
				if slope := steepnessAt(surface, z.Cell, c); slope == slope {
					more = slopeShare * z.Cell * float64(slope)
				}
			}
		}
		out[i-s.Lo] = math.Abs(float64(heights[i])) <= o.Tolerance+more
	}
}

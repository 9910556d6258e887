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
	if z.Len() == 0 {
		return out
	}
	slope := steepness(layer{z.Rows, z.Cols, z.Values}, z.Cell)
	at := newLocator(z.Grid)
	for i := range b.Points {
		limit := o.Tolerance
		c := at.of(&b.Points[i])
		if c >= 0 && slope[c] == slope[c] {
			limit += slopeShare * z.Cell * float64(slope[c])
		}
		out[i] = math.Abs(float64(heights[i])) <= limit
	}
	return out
}

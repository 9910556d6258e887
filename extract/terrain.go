package extract

import (
	"context"
	"math"

	"quoin/extract/cloud"
	"quoin/extract/ground"
)

// ground finds the terrain unit by unit, puts it together, and takes every
// point's height above it.
func (j *job) ground(ctx context.Context) error {
	units := j.block.Units()
	o := ground.DefaultOptions(j.cloud.Measures)
	surfaces := make([]*ground.Surface, len(units))
	j.o.Progress.Start("ground", int64(len(units)))
	err := each(ctx, j.o, len(units), func(i int) error {
		var err error
		surfaces[i], err = ground.Estimate(j.block, units[i].Intersect(j.block.Bounds()), o)
		return err
	})
	if err != nil {
		return err
	}
	j.terrain = cloud.NewRaster[float32](cloud.NewGrid(j.block.Bounds(), o.Cell))
	j.filled = cloud.NewRaster[bool](j.terrain.Grid)
	for i := range j.terrain.Values {
		j.terrain.Values[i] = float32(math.NaN())
	}
	for _, s := range surfaces {
		paste(j.terrain, s.Z)
		paste(j.filled, s.Interpolated)
	}
	j.hag = ground.Height(j.block, j.terrain)
	mask := ground.Mask(j.block, j.terrain, j.hag, o)
	if j.o.Classified != "" {
		j.isGround = mask
	}
	for _, isGround := range mask {
		if isGround {
			j.record.Points.Ground++
		}
	}
	return nil
}

// paste copies a part into the whole. Parts of neighbouring units do not
// overlap, as units end on whole cells.
func paste[T any](whole, part *cloud.Raster[T]) {
	for row := range part.Rows {
		r := part.Row0 + row - whole.Row0
		if r < 0 || r >= whole.Rows {
			continue
		}
		for col := range part.Cols {
			if c := part.Col0 + col - whole.Col0; c >= 0 && c < whole.Cols {
				whole.Values[r*whole.Cols+c] = part.Values[row*part.Cols+col]
			}
		}
	}
}

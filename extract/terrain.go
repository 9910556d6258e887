package extract

import (
	"context"
	"fmt"
	"math"

	"quoin/extract/cloud"
	"quoin/extract/ground"
	"quoin/vector/scratch"
)

// ground finds the terrain unit by unit, puts it together, and takes every
// point's height above it.
func (j *job) ground(ctx context.Context) error {
	units := j.block.Units()
	o := ground.DefaultOptions(j.cloud.Measures)
	j.o.Progress.Start("ground", int64(2*len(units)))
	if err := j.openTerrain(cloud.NewGrid(j.block.Bounds(), o.Cell)); err != nil {
		return err
	}
	need := func(i int) (string, int64) {
		part := units[i].Intersect(j.block.Bounds())
		return "the terrain of " + place(j.block.Frame, part), o.Memory(part.Pad(o.Halo).Intersect(j.block.Bounds()))
	}
	err := eachWithin(ctx, j.o, len(units), need, func(i int) error {
		s, err := ground.Estimate(j.block, units[i].Intersect(j.block.Bounds()), o)
		if err != nil {
			return err
		}
		paste(j.terrain, s.Z)
		paste(j.filled, s.Interpolated)
		return nil
	})
	if err != nil {
		return err
	}
	return j.measureGround(ctx, o)
}

// place names a rectangle by its middle.
func place(f cloud.Frame, r cloud.Rect) string {
	at := f.ToCRS((r.MinX+r.MaxX)/2, (r.MinY+r.MaxY)/2)
	return fmt.Sprintf("%.0f m by %.0f m about %.0f, %.0f", r.MaxX-r.MinX, r.MaxY-r.MinY, at[0], at[1])
}

// openTerrain makes a terrain that is not known anywhere.
func (j *job) openTerrain(g cloud.Grid) error {
	up, err := scratch.Array[float32](j.block.Store, g.Len())
	if err != nil {
		return err
	}
	guessed, err := scratch.Array[bool](j.block.Store, g.Len())
	if err != nil {
		return err
	}
	j.terrain, j.filled = &cloud.Raster[float32]{Grid: g, Values: up}, &cloud.Raster[bool]{Grid: g, Values: guessed}
	for i := range up {
		up[i] = float32(math.NaN())
	}
	return nil
}

// measureGround takes the heights of all points above the terrain and tells
// which are on it.
func (j *job) measureGround(ctx context.Context, o ground.Options) (err error) {
	spans := j.block.UnitSpans()
	if j.hag, err = scratch.Array[float32](j.block.Store, j.block.Len()); err != nil {
		return err
	}
	if j.o.Classified != "" {
		if j.isGround, err = scratch.Array[bool](j.block.Store, j.block.Len()); err != nil {
			return err
		}
	}
	counts := make([]int, len(spans))
	err = each(ctx, j.o, len(spans), func(i int) error {
		s := spans[i]
		ground.HeightInto(j.hag, j.block, j.terrain, s)
		var mask []bool
		if j.isGround != nil {
			mask = j.isGround[s.Lo:s.Hi]
		} else {
			mask = make([]bool, s.Hi-s.Lo)
		}
		ground.MaskInto(mask, j.block, j.terrain, j.hag, o, s)
		for _, isGround := range mask {
			if isGround {
				counts[i]++
			}
		}
		return nil
	})
	for _, n := range counts {
		j.record.Points.Ground += n
	}
	return err
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

package solid

import (
	"math"

	"quoin/extract/scene/chance"
)

// stop walks through the foliage from in to out and returns where the optical
// depth reaches the given one. The clumps stand still: two rays at one place
// see the same voxels, and differ by their depth only.
func (f *Foliage) stop(r Ray, in, out, depth float64) (float64, bool) {
	step := f.Voxel / 2
	passed := 0.0
	for t := in; t < out; t += step {
		length := min(step, out-t)
		rate := f.rate(r.At(t + length/2))
		if rate > 0 && passed+rate*length >= depth {
			return t + (depth-passed)/rate, true
		}
		passed += rate * length
	}
	return 0, false
}

// rate returns the absorption at p: 0 in a gap, else from half to one and a
// half times Rate.
func (f *Foliage) rate(p Vec) float64 {
	x := uint64(int64(math.Floor(p.X / f.Voxel)))
	y := uint64(int64(math.Floor(p.Y / f.Voxel)))
	z := uint64(int64(math.Floor(p.Z / f.Voxel)))
	u := chance.Unit(chance.Lattice(f.Key, x, y, z))
	if u < f.Gap {
		return 0
	}
	return f.Rate * (0.5 + (u-f.Gap)/(1-f.Gap))
}

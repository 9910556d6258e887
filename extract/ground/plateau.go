package ground

import "quoin/extract/cloud"

// A plateau is a part of one region, large and cut off by the data's edge,
// that lies above the facets and that they do not climb: the land beyond a
// cutting whose banks are steep and of which the rest is not seen. Terrain it
// is when its border runs on without a wall along most of it: a roof that
// meets the ground uphill falls off on its other sides, and what stands free
// is a region of its own.
const (
	// plateauSize is the least size of a plateau in square metres, the area of
	// a large house's roof.
	plateauSize = 240
	// plateauFalls is the largest share of its border that falls by more than
	// terraceWall from one cell to the next:
	// a bridge that is a part of it, trees and fences at the brink.
	plateauFalls = 1.0 / 3
	// plateauRuns is the least length of its border, in metres, without a wall.
	plateauRuns = 6
	// plateauWindow is the side, in metres, of the windows whose lowest cell
	// is taken for ground on it.
	plateauWindow = 32
	// plateauLooks is how often facets are looked over: from one plateau they
	// may come to the foot of the next.
	plateauLooks = 3
)

// plateaus returns of each cell of a layer the number of the plateau above the
// facets that it lies on, -1 for none, and how many there are. z are the
// lowest points, trend the facets' heights there.
func (r *regions) plateaus(z, trend []float32, step, cell float64, rise float32) (of []int32, n int32) {
	of = make([]int32, len(z))
	done := make([]bool, len(z))
	for i := range of {
		of[i] = -1
	}
	above := func(i int) bool { return r.label[i] >= 0 && !r.isRaised(i) && z[i]-trend[i] > rise }
	for i := range z {
		if done[i] || !above(i) {
			continue
		}
		cells := r.patch(i, done, above)
		if float64(len(cells))*cell*cell >= plateauSize && r.runsOn(cells, z, float32(step), cell) {
			for _, k := range cells {
				of[k] = n
			}
			n++
		}
	}
	return of, n
}

// runsOn reports whether a part of a region reaches the data's edge and else
// borders on lower cells without a wall.
func (r *regions) runsOn(cells []int, z []float32, step float32, cell float64) bool {
	in := make(map[int]bool, len(cells))
	for _, i := range cells {
		in[i] = true
	}
	falls, runs, rim := 0, 0, false
	for _, i := range cells {
		row, col := i/r.cols, i%r.cols
		rim = rim || row == 0 || col == 0 || row == r.rows-1 || col == r.cols-1
		r.neighbours(i, func(j int) {
			if in[j] || r.label[j] < 0 {
				return
			}
			switch d := z[i] - z[j]; {
			case d > terraceWall:
				falls++
			case d >= -step:
				runs++
			}
		})
	}
	return rim && float64(runs)*cell >= plateauRuns && float64(falls) <= plateauFalls*float64(falls+runs)
}

// climb seeds the plateaus that the facets left out and grows them again.
func (t *terrain) climb(mid *lowest, parts *regions, o Options) {
	z := bridged(mid)
	for range plateauLooks {
		of, n := parts.plateaus(z, t.raster(mid.Grid), o.StepHeight, mid.Cell, float32(o.FacetDistance))
		if n == 0 {
			return
		}
		seeds := t.seedFrom(plateauWindow, func(p *candidate) int32 {
			if p.raised || p.joined {
				return -1
			}
			row, col := int(float64(p.y)*cloud.Step/mid.Cell), int(float64(p.x)*cloud.Step/mid.Cell)
			return of[row*mid.Cols+col]
		})
		if len(seeds) == 0 {
			return
		}
		t.settle()
	}
}

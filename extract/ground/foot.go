package ground

import "math"

const (
	// footReach is how far, in cells, from what is raised the foot of a façade
	// may lie; footLand the radius, in cells, of the land it is held against,
	// and footCells how much of that there must be.
	footReach, footLand, footCells = 1, 4, 5
	// footRise is how far, in tolerances (four sigma_z), its lowest point may lie
	// above that land.
	footRise = 0.625
)

// dropFeet lets go of cells beside raised ones whose lowest point stands above
// the land further out: it lies on the wall there.
func (r *refit) dropFeet() {
	beside := make([]bool, r.Len())
	for i, raised := range r.raised {
		if raised {
			r.about(i, footReach, func(at int, _, _ float64) { beside[at] = true })
		}
	}
	band := max(admitBase, r.o.Tolerance)
	limit := footRise * r.o.Tolerance
	var feet []int
	for i, held := range r.held {
		if !held || !beside[i] {
			continue
		}
		here := r.low[i]
		var land plane
		r.about(i, footLand, func(at int, dx, dy float64) {
			far := band + spreadSlope*r.Cell*math.Hypot(dx, dy)
			if r.held[at] && !beside[at] && math.Abs(float64(r.low[at].z-here.z)) <= far {
				land.add(dx+float64(r.low[at].x-here.x), dy+float64(r.low[at].y-here.y), float64(r.low[at].z-here.z))
			}
		})
		if land.n < footCells {
			continue
		}
		if off, _, _ := land.solve(eaveDamping); -off > limit {
			feet = append(feet, i)
		}
	}
	for _, i := range feet {
		r.held[i] = false
	}
}

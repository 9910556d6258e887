package roof

import "math"

// Where points are sparse, each of the two slopes of a shed is too small for a
// roof, and both together are not.
const (
	// foldRadius is the least radius of a neighbourhood, in metres, from which
	// points are that sparse.
	foldRadius = 0.8
	// foldLeast and foldSlope are the number of points that both slopes need,
	// and one.
	foldLeast, foldSlope = 8, 3
	// foldFlat and foldSteep bound the gradients.
	foldFlat, foldSteep = 0.2, 1.5
)

// keepFolds keeps the two slopes of a gable of which each is too small for a
// roof and both together are not: alike, falling away from each other, with
// hardly anything about them.
func (s *segmenter) keepFolds() {
	if s.limits.radius < foldRadius {
		return
	}
	half := func(f *smooth) bool {
		slope := math.Hypot(f.gx, f.gy)
		return !f.vegetation && f.n >= foldSlope && f.solid >= 0.75 && f.multi < 0.2 && slope > foldFlat && slope < foldSteep
	}
	for i := range s.surfaces {
		f := &s.surfaces[i]
		if !half(f) {
			continue
		}
		for k := range s.surfaces[:i] {
			g := &s.surfaces[k]
			if half(g) && (!f.kept || !g.kept) && s.gableOf(f, g) {
				f.kept, g.kept = true, true
			}
		}
	}
}

// gableOf reports whether two surfaces are the slopes of one gable.
func (s *segmenter) gableOf(f, g *smooth) bool {
	dx, dy := g.x-f.x, g.y-f.y
	slope := (math.Hypot(f.gx, f.gy) + math.Hypot(g.gx, g.gy)) / 2
	return math.Hypot(f.gx+g.gx, f.gy+g.gy) < slope/2 && f.gx*dx+f.gy*dy > 0 &&
		math.Hypot(dx, dy) < 2*s.limits.radius && f.n+g.n >= foldLeast && f.area+g.area >= s.options.MinArea/2
}

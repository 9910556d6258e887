package roof

import (
	"fmt"
	"testing"
)

// shapes are buildings that each must come out as one.
func shapes() map[string]*world {
	one := func(parts ...solid) *world { return &world{solids: parts, size: 40} }
	return map[string]*world{
		"flat":  one(solid{0, 0, 10, 14, 0.4, flat(4), 0}),
		"gable": one(solid{0, 0, 9, 13, 0.4, gable(4, 0.7, 9), 0}),
		"hip":   one(solid{0, 0, 10, 14, 1, hip(4, 0.6, 10, 14), 0}),
		"lean":  one(solid{0, 0, 6, 9, 0.2, lean(3, 0.2, 6), 0}),
		"L": one(
			solid{0, 0, 8, 16, 0.3, gable(4, 0.7, 8), 0},
			solid{5.73, 1.77, 8, 12, 0.3 + 1.5708, gable(4, 0.7, 8), 0}),
		"shed":     one(solid{0, 0, 2.4, 2.9, 0.5, lean(2.1, 0.15, 2.4), 0}),
		"dome":     one(solid{0, 0, 14, 14, 0, dome(4, 7), 0}),
		"dormers":  one(solid{0, 0, 9, 13, 0.4, gable(4, 0.8, 9), 0}, solid{2.2, 3, 2, 2, 0.4, flat(7), 0}, solid{-0.5, -1, 0.8, 0.8, 0.4, flat(9), 0}),
		"plant":    one(solid{0, 0, 14, 18, 0.2, flat(6), 0}, solid{1, 2, 4, 4, 0.2, flat(8.5), 0}, solid{-3, -4, 2, 1.5, 0.2, flat(7.2), 0}),
		"parapets": one(solid{0, 0, 10, 14, 0.4, parapet(5, 0.6, 10, 14, 0.3), 0}),
	}
}

func parapet(h, above, width, length, thick float64) shape {
	return func(u, v float64) float64 {
		if min(width/2-max(u, -u), length/2-max(v, -v)) < thick {
			return h + above
		}
		return h
	}
}

func TestPrintShapes(t *testing.T) {
	for name, w := range shapes() {
		for _, density := range []float64{2, 8, 30, 120} {
			s := w.survey(scan{density: density, noise: 0.025, seed: 1})
			r := s.segment(DefaultOptions())
			c := s.score(r)
			fmt.Printf("%-9s %4.0f: got %d/%d of %d; roof %.3f (%d) edge %.3f (%d) false %d far %d", name, density, c.got, c.planned, len(r.buildings),
				float64(c.found)/float64(c.roof), c.roof, float64(c.edgeFound)/float64(c.edge), c.edge, c.falseEdge, c.falseFar)
			for _, b := range r.buildings {
				fmt.Printf(" [%.1f m2 eave %.1f ridge %.1f planes %d %v]", b.Area, b.EaveHeight, b.RidgeHeight, len(b.Planes), b.Reasons)
			}
			for _, h := range r.held {
				fmt.Printf(" {%s %.1f m2 %.1f}", h.Reason, h.Area, h.Height)
			}
			fmt.Println()
		}
	}
}

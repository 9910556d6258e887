package roof

import "testing"

// TestLowerParts: a wing of a hall and a garage belong to the building that
// they are built onto unless they are to be split off; a lower house of a row,
// and a low building beside one of another owner as large, never.
func TestLowerParts(t *testing.T) {
	hall := &world{size: 60, solids: []solid{{0, 0, 30, 22, 0.3, flat(8.5), 0}, {19.1, 5.91, 10, 12, 0.3, flat(4.5), 0}}}
	garage := &world{size: 40, solids: []solid{{0, 0, 12, 9, 0, gable(4, 0.7, 12), 0}, {7.5, -1, 3, 6, 0, flat(2.9), 0}}}
	large := &world{size: 60, solids: []solid{{0, 0, 12, 12, 0, flat(11), 0}, {11, 0, 10, 9, 0, flat(6), 1}}}
	for name, c := range map[string]struct {
		world         *world
		merged, split int
	}{
		"hall with a wing":             {hall, 1, 2},
		"house with a garage":          {garage, 1, 2},
		"building beside a higher one": {large, 2, 2},
		"row on a slope, flat":         {row(2.2, 0.4, false), 5, 5},
		"row on a slope, pitched":      {row(2.2, 0.4, true), 5, 5},
	} {
		t.Run(name, func(t *testing.T) {
			s := c.world.survey(scan{density: 30, noise: 0.02, seed: 3})
			o := DefaultOptions()
			if n := len(s.segment(o).buildings); n != c.merged {
				t.Errorf("%d buildings, want %d", n, c.merged)
			}
			o.SplitParts = true
			if n := len(s.segment(o).buildings); n != c.split {
				t.Errorf("split: %d buildings, want %d", n, c.split)
			}
		})
	}
}

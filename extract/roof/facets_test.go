package roof

import (
	"math"
	"testing"
)

// TestSparseWingsStayTogether: two gables that cross, with valleys and short
// slopes, where a neighbourhood of a metre and more holds two or three of them.
// Without facets one of 20 comes apart at either density.
func TestSparseWingsStayTogether(t *testing.T) {
	for density, least := range map[float64][2]float64{2: {18, 0.95}, 4: {20, 0.98}} {
		whole, found, all := 0, 0, 0
		for seed := range uint64(20) {
			a := 0.15 * float64(seed)
			s := one(
				solid{0, 0, 7, 19, a, gable(4, 0.85, 7), 0},
				solid{0, 0, 6.4, 18, a + math.Pi/2, gable(4, 0.9, 6.4), 0},
			).survey(scan{density: density, noise: 0.025, seed: seed})
			r := s.segment(DefaultOptions())
			if len(r.buildings) == 1 {
				whole++
			}
			c := s.score(r)
			found, all = found+c.found, all+c.roof
		}
		t.Logf("%v points/m²: %d of 20 whole, %.3f of their roof returns found", density, whole, share(found, all))
		if float64(whole) < least[0] || share(found, all) < least[1] {
			t.Errorf("%v points/m²: %d of 20 whole, %.3f of their roof returns found; want %v", density, whole, share(found, all), least)
		}
	}
}

// TestFacetsAreNoLeaves: beside a roof among trees that touch it, no more than
// a hundredth of what is labelled is leaves, as without facets.
func TestFacetsAreNoLeaves(t *testing.T) {
	far, found := 0, 0
	for seed := range uint64(6) {
		w := grove(seed, 12, 0.6)
		w.solids = append(w.solids, solid{0, 0, 8, 12, 0.4, gable(4, 0.7, 8), 0})
		s := w.survey(scan{density: 4, noise: 0.025, seed: seed})
		c := s.score(s.segment(DefaultOptions()))
		far, found = far+c.falseFar, found+c.found
	}
	if share(far, found) > 0.01 {
		t.Errorf("%d returns far from the roof among %d", far, found)
	}
}

package roof

import "testing"

// TestSparseShedsAreFound: gabled sheds of 8 m² at four points a square metre,
// of which 13 were found before slopes were put together; at two points hardly
// any are. No tree among 80 is one.
func TestSparseShedsAreFound(t *testing.T) {
	for density, least := range map[float64]int{2: 3, 4: 15} {
		found, all := 0, 0
		for seed := range uint64(20) {
			s := one(solid{0, 0, 2.7, 3, 0.1 * float64(seed), gable(2.1, 0.5, 2.7), 0}).survey(scan{density: density, noise: 0.02, seed: seed})
			all++
			if len(s.segment(DefaultOptions()).buildings) == 1 {
				found++
			}
		}
		if found < least {
			t.Errorf("%v points/m²: %d of %d sheds found, want %d", density, found, all, least)
		}
		for seed := range uint64(4) {
			if r := grove(seed, 20, 0.9).survey(scan{density: density, noise: 0.02, seed: seed}).segment(DefaultOptions()); len(r.buildings) > 0 {
				t.Errorf("%v points/m²: %d buildings in a grove", density, len(r.buildings))
			}
		}
	}
}

package roof

import (
	"math"
	"testing"

	"quoin/vector"
)

// offsetRow is a row of gables whose façades and heights are offset so that
// the slopes on one side of the ridge lie in one plane.
func offsetRow(turn float64) *world {
	w := &world{size: 60}
	const slope, step = 0.8, 0.5
	for k := range 4 {
		v, h := 0.0, 0.0
		if k%2 == 1 {
			v, h = step/slope, -step
		}
		u := 6 * (float64(k) - 1.5)
		c, s := math.Cos(turn), math.Sin(turn)
		// a gable along u: heights fall across v
		roof := func(_, across float64) float64 { return 8 + h - slope*math.Abs(across) }
		w.solids = append(w.solids, solid{c*u - s*v, s*u + c*v, 6, 10, turn, roof, k})
	}
	return w
}

func TestRowsWithOneCommonSlopeComeApart(t *testing.T) {
	joints, split := 0, 0
	for seed := range uint64(3) {
		for _, density := range []float64{8, 30} {
			s := offsetRow(0.4 + 0.7*float64(seed)).survey(scan{density: density, noise: 0.02, seed: seed})
			c := s.score(s.segment(DefaultOptions()))
			joints += 3
			split += 3 - c.mixed
		}
	}
	if 10*split < 9*joints {
		t.Errorf("%d of %d joints split, want nine tenths", split, joints)
	}
}

func TestTeethOfASawtoothStayTogether(t *testing.T) {
	teeth := func(u, _ float64) float64 { return 5 + 0.45*math.Mod(u+12, 6) }
	for _, density := range []float64{8, 30} {
		s := one(solid{0, 0, 24, 26, 0.3, teeth, 0}).survey(scan{density: density, noise: 0.02, seed: 1})
		if r := s.segment(DefaultOptions()); len(r.buildings) != 1 {
			t.Errorf("%v points/m²: %d buildings, want 1", density, len(r.buildings))
		}
	}
}

// Sizes by ISO 668:2020: 12.192 m by 2.438 m, 2.591 m high.
func TestContainersAndCabsAreVehicles(t *testing.T) {
	stack := &world{size: 40, solids: []solid{{-1.4, 0, 2.44, 12.19, 0, flat(2.59), -1}, {1.4, 0, 2.44, 12.19, 0, flat(5.18), -1}}}
	truck := &world{size: 40, solids: []solid{{0, 0, 2.5, 9, 0, flat(3.8), -1}, {0, 6.3, 2.5, 2.5, 0, flat(2.9), -1}}}
	for name, w := range map[string]*world{"side by side": stack, "cab": truck} {
		for _, density := range []float64{8, 30} {
			r := w.survey(scan{density: density, noise: 0.015, seed: 2}).segment(DefaultOptions())
			if len(r.buildings) > 0 {
				t.Errorf("%s at %v points/m²: a building of %.1f m²", name, density, r.buildings[0].Area)
			}
		}
	}
}

func TestMarqueesAreHeldBackButGaragesAreNot(t *testing.T) {
	for side, want := range map[float64]bool{1.8: false, 1.9: false, 2: false, 2.3: true, 2.6: true} {
		for _, density := range []float64{2, 4, 8, 30} {
			s := one(solid{0, 0, 5, 9, 0.3, gable(side, 0.5, 5), 0}).survey(scan{density: density, noise: 0.02, seed: 2})
			r := s.segment(DefaultOptions())
			if got := len(r.buildings) == 1; got != want {
				t.Errorf("sides of %v m: delivered is %v, want %v; held back %v", side, got, want, r.held)
			}
			o := DefaultOptions()
			o.KeepTentLike = true
			if r := s.segment(o); len(r.buildings) != 1 || !want && r.buildings[0].Reasons[0] != vector.ReviewTentLike {
				t.Errorf("sides of %v m: %v, want one building with the option", side, r.buildings)
			}
		}
	}
}

// A cottage of 45 degrees with deep eaves comes down as low as a tent, which is
// never as steep.
func TestLowEavesOfSteepRoofsAreNoTents(t *testing.T) {
	for _, density := range []float64{2, 8, 30} {
		s := one(solid{0, 0, 6, 10, 0.3, gable(2, 1, 6), 0}).survey(scan{density: density, noise: 0.02, seed: 2})
		if r := s.segment(DefaultOptions()); len(r.buildings) != 1 {
			t.Errorf("%v points/m²: held back %v", density, r.held)
		}
	}
}

// A row of equal houses, 24 m by 10 m, has no joint that shows.
func TestEqualRowMayBeSeveral(t *testing.T) {
	for length, want := range map[float64]bool{24: true, 12: false} {
		s := one(solid{0, 0, 10, length, 0.3, gable(5, 0.7, 10), 0}).survey(scan{density: 20, noise: 0.02, seed: 1})
		r := s.segment(DefaultOptions())
		if len(r.buildings) != 1 {
			t.Fatalf("%d buildings, want 1", len(r.buildings))
		}
		got := false
		for _, reason := range r.buildings[0].Reasons {
			got = got || reason == vector.ReviewSeveral
		}
		if got != want {
			t.Errorf("%v m long: reasons %v", length, r.buildings[0].Reasons)
		}
	}
}

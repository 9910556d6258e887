package roof

import (
	"math"
	"slices"
	"testing"

	"quoin/vector"
)

// freight returns trucks of 2.5 m by 9 m in a row, so many of them, about a flat
// block of five containers of 12.192 m in two levels (ISO 668:2020), 6 cm apart so
// that no gap shows.
func freight(trucks int, block ...solid) *world {
	w := &world{size: 70, solids: block}
	for i := range trucks {
		w.solids = append(w.solids, solid{-20 + 8*float64(i), 14, 2.5, 9, 0.02, flat(3.6 + 0.1*float64(i)), -1})
	}
	return w
}

func containersIn(number int) []solid {
	return []solid{{0, 0, 7.4, 12.19, 0, flat(2.591), number}, {6.2, 0, 4.94, 12.19, 0, flat(5.182), number}}
}

// Where gaps don't show, the company decides: the same block is a row of garages
// beside houses, and containers among trucks.
func TestBlockAsLongAsContainersIsJudgedByWhereItStands(t *testing.T) {
	for _, c := range []struct {
		trucks int
		held   bool
		look   bool
	}{{0, false, false}, {2, false, true}, {4, true, false}} {
		for _, density := range []float64{2, 4, 11} {
			for seed := range uint64(2) {
				s := freight(c.trucks, containersIn(0)...).survey(scan{density: density, noise: 0.015, seed: seed})
				r := s.segment(DefaultOptions())
				if got := len(r.buildings) == 0; got != c.held {
					t.Errorf("%d trucks, %v points/m², seed %d: held back is %v, want %v: %v", c.trucks, density, seed, got, c.held, r.held)
				}
				for _, b := range r.buildings {
					if got := slices.Contains(b.Reasons, vector.ReviewVehicleLike); got != c.look {
						t.Errorf("%d trucks, %v points/m², seed %d: vehicle-like is %v, want %v", c.trucks, density, seed, got, c.look)
					}
				}
				for i := range r.of {
					if r.of[i] >= int32(len(r.buildings)) || r.of[i] < 0 && r.kinds[i] == Roof {
						t.Fatalf("a return is of building %d, kind %v, of %d buildings", r.of[i], r.kinds[i], len(r.buildings))
					}
				}
			}
		}
	}
}

func TestContainersInAYardAreDeliveredOnRequest(t *testing.T) {
	s := freight(4, containersIn(-1)...).survey(scan{density: 4, noise: 0.015, seed: 1})
	o := DefaultOptions()
	o.KeepVehicleLike = true
	r := s.segment(o)
	if len(r.buildings) < 5 {
		t.Errorf("%d buildings, want the trucks and the containers", len(r.buildings))
	}
	for _, b := range r.buildings {
		if !slices.Contains(b.Reasons, vector.ReviewVehicleLike) {
			t.Errorf("%.0f m² without the reason", b.Area)
		}
	}
}

// Buildings in a yard that are no containers: pitched, or not as high as these.
func TestBuildingsInAYardStay(t *testing.T) {
	for name, b := range map[string]solid{
		"office": {0, 0, 7, 12.19, 0, flat(3.4), 0}, "hall": {0, 0, 12.19, 18, 0, flat(7), 0},
		"gable": {0, 0, 6.06, 8, 0, gable(2.4, 0.4, 6.06), 0}, "long": {0, 0, 8, 16.5, 0, flat(2.6), 0},
	} {
		for _, density := range []float64{2, 4, 11} {
			s := freight(5, b).survey(scan{density: density, noise: 0.015, seed: 3})
			if r := s.segment(DefaultOptions()); len(r.buildings) != 1 {
				t.Errorf("%s at %v points/m²: %d buildings, held back %v", name, density, len(r.buildings), r.held)
			}
		}
	}
}

// withdraw leaves the numbers of the other buildings right.
func TestWithdrawRenumbers(t *testing.T) {
	r := Segmentation{
		Buildings: []Building{{Area: 1}, {Area: 2}, {Area: 3}},
		Of:        []int32{0, 1, 2, -1, 1}, Kinds: []Kind{Roof, Roof, Roof, Wall, Roof},
	}
	r.withdraw(1, Held{Area: math.Pi})
	if len(r.Buildings) != 2 || r.Buildings[1].Area != 3 || len(r.Held) != 1 {
		t.Errorf("%v, %v", r.Buildings, r.Held)
	}
	if !slices.Equal(r.Of, []int32{0, -1, 1, -1, -1}) || !slices.Equal(r.Kinds, []Kind{Roof, Object, Roof, Wall, Object}) {
		t.Errorf("%v, %v", r.Of, r.Kinds)
	}
}

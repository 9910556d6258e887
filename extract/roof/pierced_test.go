package roof

import (
	"testing"

	"quoin/extract/cloud"
	"quoin/vector"
)

// leafy makes of a share of the returns that are high the first of two.
func (s *survey) leafy(share int) {
	for i := range s.block.Points {
		p := &s.block.Points[i]
		a := cloud.Attributes{Return: 1, Returns: 1}
		if s.hag[i] > 1 && i%share == 0 {
			a.Returns = 2
		}
		s.block.Points[i] = cloud.Pack(p.East(), p.North(), p.Up(), a)
	}
}

// A block of a clipped hedge as smooth as a roof, 3 m by 4.6 m and 3.5 m high, was
// found in a real cloud: a fifth of its pulses went on below its top.
func TestSmoothHedgeIsToldByPulsesThatGoOn(t *testing.T) {
	for share, want := range map[int]int{4: 0, 30: 1} {
		s := one(solid{0, 0, 3, 4.6, 0.3, flat(3.5), 0}).survey(scan{density: 22, noise: 0.014, seed: 1})
		s.leafy(share)
		r := s.segment(DefaultOptions())
		if len(r.buildings) != want {
			t.Errorf("one pulse in %d goes on: %d buildings, want %d; held back %v", share, len(r.buildings), want, r.held)
		}
		if want == 0 && (len(r.held) != 1 || r.held[0].Reason != vector.HeldVegetation) {
			t.Errorf("held back %v, want vegetation", r.held)
		}
	}
}

func TestPierced(t *testing.T) {
	for _, c := range []struct {
		name string
		p    profile
		want bool
	}{
		{"hedge", profile{through: 0.18}, true},
		{"tree", profile{through: 0.30, vegetation: 0.52}, true},
		{"tiles and chimneys", profile{through: 0.07, vegetation: 0.11}, false},
		{"roof under a tree", profile{through: 0.16, vegetation: 0.54}, false},
		{"mesh over a floor", profile{through: 0.5, penetration: 0.4}, false},
		{"no return numbers", profile{}, false},
	} {
		if got := pierced(&c.p); got != c.want {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
}

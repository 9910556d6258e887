package flight

import (
	"math"
	"testing"
)

// Swath widths 2·H·tan(FOV/2) at 150 ft (45.72 m) and footprints H·divergence,
// worked by hand.
func TestSwathAndFootprint(t *testing.T) {
	for _, c := range []struct{ degrees, width float64 }{{70, 64.03}, {75, 70.16}, {40, 33.28}} {
		s := Scanner{Height: 45.72, FieldOfView: c.degrees * degree}
		if got := s.Swath(); math.Abs(got-c.width) > 0.005 {
			t.Errorf("%g degrees: swath %.3f m, want %.2f", c.degrees, got, c.width)
		}
	}
	s := Scanner{Height: 45.72, Divergence: [2]float64{0.0005, 0.003}}
	if f := s.Footprint(); math.Abs(f[0]-0.02286) > 1e-9 || math.Abs(f[1]-0.13716) > 1e-9 {
		t.Errorf("footprint %v m, want 0.0229 by 0.1372", f)
	}
}

// Line spacing is W·(1 − overlap): 32.01 m at 50 % of 64.03 m (by hand).
func TestLineSpacing(t *testing.T) {
	s := exact(t, LineScanner)
	s.Height, s.FieldOfView, s.Overlap = 45.72, 70*degree, 0.5
	p, err := MakePlan(s, target(10))
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(p.Spacing-32.01) > 0.01 {
		t.Errorf("lines are %.3f m apart, want 32.01", p.Spacing)
	}
}

// The flight stays what common practice calls one: drones at 30 to 80 m and 3
// to 8 m/s with 20 to 60 % overlap (common practice, no source).
func TestPlansAreFlyable(t *testing.T) {
	for _, kind := range Kinds() {
		s, err := Preset(kind)
		if err != nil {
			t.Fatal(err)
		}
		for _, spacing := range []float64{0.05, 0.07, 0.15, 0.3, 0.5, 0.7} {
			p, err := MakePlan(s, target(1/spacing/spacing))
			if err != nil {
				t.Fatalf("%s at %g m: %v", kind, spacing, err)
			}
			if p.Speed < s.MinSpeed || p.Speed > s.Speed || p.PulseRate > s.MaxPulseRate*1.001 {
				t.Errorf("%s at %g m: %.1f m/s, %.0f Hz", kind, spacing, p.Speed, p.PulseRate)
			}
			if s.Overlap < 0.2 || s.Overlap > 0.6 {
				t.Errorf("%s: overlap %.2f", kind, s.Overlap)
			}
			if kind != OscillatingMirror && (s.Height < 30 || s.Height > 80 || p.Speed < 3 || p.Speed > 8) {
				t.Errorf("%s at %g m: %.0f m high, %.1f m/s", kind, spacing, s.Height, p.Speed)
			}
		}
	}
}

func TestPlanRefuses(t *testing.T) {
	s := exact(t, LineScanner)
	for _, density := range []float64{0, -1, math.NaN(), 1e6} {
		if _, err := MakePlan(s, target(density)); err == nil {
			t.Errorf("density %g was planned", density)
		}
	}
	if _, err := Preset("balloon"); err == nil {
		t.Error("an unknown scanner was given")
	}
}

// The lines overlap everywhere: no place of the block is outside all swaths.
func TestLinesCoverTheBlock(t *testing.T) {
	for _, kind := range Kinds() {
		s := exact(t, kind)
		at := target(10)
		at.Heading = 0.7
		p, err := MakePlan(s, at)
		if err != nil {
			t.Fatal(err)
		}
		for x := at.Low.X; x <= at.High.X; x += 4 {
			for y := at.Low.Y; y <= at.High.Y; y += 4 {
				seen := false
				for _, l := range p.Lines {
					v := -(x-l.From.X)*math.Sin(l.Heading) + (y-l.From.Y)*math.Cos(l.Heading)
					seen = seen || math.Abs(v) <= s.Swath()/2
				}
				if !seen {
					t.Fatalf("%s: nobody flies over %g, %g", kind, x, y)
				}
			}
		}
	}
}

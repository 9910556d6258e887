package outline

import (
	"math"
	"math/rand/v2"
	"testing"
)

// What lies in parts comes out sound: of parts that meet at a corner or not at all the one with most points, with the courts in it and without
// the buildings in those, which are outlines of their own.
func TestParts(t *testing.T) {
	square := func(x, y, side float64) [][2]float64 {
		return [][2]float64{{x, y}, {x + side, y}, {x + side, y + side}, {x, y + side}}
	}
	within := func(x, y float64, r [][2]float64) bool {
		return x > r[0][0] && x < r[2][0] && y > r[0][1] && y < r[2][1]
	}
	for _, c := range []struct {
		name  string
		roof  func(x, y float64) bool
		area  float64
		rings int
	}{
		{"two parts that meet at a corner", func(x, y float64) bool {
			return within(x, y, square(0, 0, 10)) || within(x, y, square(10, 10, 8))
		}, 100, 1},
		// Two courts that meet at a corner are one with a neck: nothing tells whether they are parted there.
		{"two courts that meet at a corner", func(x, y float64) bool {
			return within(x, y, square(0, 0, 30)) && !within(x, y, square(6, 6, 9)) && !within(x, y, square(15, 15, 9))
		}, 900 - 162, 2},
		{"a building in a court", func(x, y float64) bool {
			return within(x, y, square(0, 0, 30)) && !within(x, y, square(6, 6, 18)) || within(x, y, square(11, 11, 7))
		}, 900 - 324, 2},
		{"a court in a building in a court", func(x, y float64) bool {
			return within(x, y, square(0, 0, 40)) && !within(x, y, square(6, 6, 28)) ||
				within(x, y, square(11, 11, 16)) && !within(x, y, square(16, 16, 6))
		}, 1600 - 784, 2},
	} {
		rng := rand.New(rand.NewPCG(8, 8))
		sin, cos := math.Sincos(0.4)
		var obs []Observation
		for range 11 * 56 * 56 {
			x, y := rng.Float64()*56-8, rng.Float64()*56-8
			o := Observation{X: cos*x - sin*y + 0.01*rng.NormFloat64(), Y: sin*x + cos*y + 0.01*rng.NormFloat64(), Side: Outside}
			if c.roof(x, y) {
				o.Side = Inside
			}
			obs = append(obs, o)
		}
		m := Measures{Spacing: 1 / math.Sqrt(11), Sigma: 0.01}
		r, err := Fit(obs, m, DefaultOptions(m))
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		checkSound(t, r)
		area := 0.0
		for _, ring := range r.Rings {
			for i, v := range ring.Vertices {
				w := ring.Vertices[(i+1)%len(ring.Vertices)]
				area += (v.X*w.Y - w.X*v.Y) / 2
			}
		}
		if len(r.Rings) != c.rings || math.Abs(area-c.area) > 0.5+4*r.AreaSigma {
			t.Errorf("%s: %d rings of area %.2f, want %d and %.2f", c.name, len(r.Rings), area, c.rings, c.area)
		}
	}
}

// A court wider than pulses are given for stays a court: observations reach a few metres from the roof, and the middle of a large court has
// none. A gap as large without them at its sides is no court.
func TestWideCourt(t *testing.T) {
	const wing, wide = 8.0, 84.0
	court := plan{
		{{0, 0}, {2*wing + wide, 0}, {2*wing + wide, 2*wing + wide}, {0, 2*wing + wide}},
		{{wing, wing}, {wing, wing + wide}, {wing + wide, wing + wide}, {wing + wide, wing}},
	}
	s := sampling{density: 4, sigma: 0.02, pattern: "scan"}
	for _, c := range []struct {
		name  string
		share float64 // of the pulses that passed the court near the roof, those given
		rings int
	}{
		{"seen", 1, 2},
		{"hardly seen", 0.1, 1},
	} {
		rng := rand.New(rand.NewPCG(6, 84))
		var obs []Observation
		for _, o := range s.observe(court, rng) {
			inner := math.Max(math.Abs(o.X-wing-wide/2), math.Abs(o.Y-wing-wide/2)) - wide/2 // negative in the court
			if inner > 0 || inner > -5 && rng.Float64() < c.share {
				obs = append(obs, o)
			}
		}
		r, err := Fit(obs, s.measures(), DefaultOptions(s.measures()))
		if err != nil || len(r.Rings) != c.rings {
			t.Errorf("%s: %d rings, want %d; %v", c.name, len(r.Rings), c.rings, err)
		}
	}
}

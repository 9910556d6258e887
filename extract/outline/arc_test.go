package outline

import (
	"math"
	"math/rand/v2"
	"testing"
)

// roundPlans are plans with a round part, drawn by 96 chords a turn, and its circle.
func roundPlans() map[string]struct {
	plan
	circle
	corners int
} {
	arc := func(x, y, r, from, to float64) [][2]float64 {
		n := int(math.Round(math.Abs(to-from) / (2 * math.Pi) * 96))
		var v [][2]float64
		for i := range n + 1 {
			s, c := math.Sincos(from + (to-from)*float64(i)/float64(n))
			v = append(v, [2]float64{x + r*c, y + r*s})
		}
		return v
	}
	tank := arc(0, 0, 5, 0, 2*math.Pi)
	tower := append([][2]float64{{0, 0}, {12, 0}}, arc(12, 9, 2.5, -math.Pi/2, math.Pi)...)
	apse := append([][2]float64{{0, 0}}, arc(14, 4, 4, -math.Pi/2, math.Pi/2)...)
	court := arc(10, 8, 4, 2*math.Pi, 0)
	type round = struct {
		plan
		circle
		corners int
	}
	return map[string]round{
		"tank":        {plan{tank[:96]}, circle{0, 0, 5, 1}, 0},
		"tower":       {plan{append(tower, [2]float64{0, 9})}, circle{12, 9, 2.5, 1}, 5},
		"apse":        {plan{append(apse, [2]float64{0, 8})}, circle{14, 4, 4, 1}, 2},
		"round court": {plan{{{0, 0}, {20, 0}, {20, 16}, {0, 16}}, court[:96]}, circle{10, 8, 4, -1}, 4},
	}
}

// The circle of a round part comes out where it is, to four of its standard errors and at most 2 cm, and the other corners as they are.
func TestRoundParts(t *testing.T) {
	for name, c := range roundPlans() {
		for _, density := range []float64{11} {
			s := sampling{density: density, sigma: 0.012, beam: 0.03, pattern: "scan"}
			theta, dx, dy := 0.3, 40.0, -20.0
			sin, cos := math.Sincos(theta)
			obs := s.observe(c.turned(theta, dx, dy), rand.New(rand.NewPCG(3, 4)))
			m := s.measures()
			r, err := Fit(obs, m, DefaultOptions(m))
			if err != nil {
				t.Fatal(err)
			}
			if len(r.Arcs) != 1 {
				t.Errorf("%s at %v/m²: %d arcs", name, density, len(r.Arcs))
				continue
			}
			a := r.Arcs[0]
			x, y := cos*c.x-sin*c.y+dx, sin*c.x+cos*c.y+dy
			off, sigma := math.Hypot(a.X-x, a.Y-y), math.Sqrt(a.CovXX+a.CovYY)
			if off > 0.02 || off > 4*sigma+0.001 || math.Abs(a.Radius-c.r) > min(0.02, 4*a.SigmaRadius+0.001) || a.Sweep*c.sign < 0 {
				t.Errorf("%s at %v/m²: circle %.3f m off (%.3f), radius %.3f (%.3f), want %v", name, density, off, sigma, a.Radius, a.SigmaRadius, c.r)
			}
			corners, area := 0, 0.0
			for _, ring := range r.Rings {
				for i, v := range ring.Vertices {
					if v.Kind != Round {
						corners++
					}
					w := ring.Vertices[(i+1)%len(ring.Vertices)]
					area += ((v.X-dx)*(w.Y-dy) - (w.X-dx)*(v.Y-dy)) / 2
				}
			}
			// The chords of the plan cut off a share of π²/(6·24²) of its circle, below 0.03 m² here; the rest is the fit's.
			want := 0.0
			for _, ring := range c.plan {
				for i, v := range ring {
					w := ring[(i+1)%len(ring)]
					want += (v[0]*w[1] - w[0]*v[1]) / 2
				}
			}
			if corners != c.corners || math.Abs(area-want) > 0.06+4*r.AreaSigma {
				t.Errorf("%s at %v/m²: %d corners, want %d; area %.2f, want %.2f", name, density, corners, c.corners, area, want)
			}
			if a.ChordError > coarsestChord || len(r.Covariance) != square(len(r.Directions)+straight(r)) {
				t.Errorf("%s at %v/m²: chord error %v, %d numbers of covariance", name, density, a.ChordError, len(r.Covariance))
			}
		}
	}
}

func square(n int) int { return n * n }

func straight(r Result) int {
	n := 0
	for _, ring := range r.Rings {
		for _, e := range ring.Edges {
			if e.Arc == 0 {
				n++
			}
		}
	}
	return n
}

// Buildings with many corners are no circles.
func TestPolygonsAreNotRound(t *testing.T) {
	for _, name := range []string{"hexagon", "octagon", "chamfer"} {
		s := sampling{density: 11, sigma: 0.012, beam: 0.03, pattern: "scan"}
		obs := s.observe(freeShapes()[name].turned(0.3, 0, 0), rand.New(rand.NewPCG(3, 4)))
		m := s.measures()
		r, err := Fit(obs, m, DefaultOptions(m))
		if err != nil {
			t.Fatal(err)
		}
		if len(r.Arcs) != 0 {
			t.Errorf("%s has %d arcs", name, len(r.Arcs))
		}
	}
}

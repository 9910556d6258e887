package outline

import (
	"math"
	"math/rand/v2"
	"testing"
)

// On the side that is turned to the sensor a split can't be told: it counts as inside. Where that is said the edge stays where it is; where it is
// not the edge goes out by about the half-width of the beam.
func TestBlindSidesStayInPlace(t *testing.T) {
	const beam, n = 0.1, 5
	s := sampling{density: 16, sigma: 0.01, beam: beam, pattern: "poisson"}
	p := plan{{{0, 0}, {12, 0}, {12, 8}, {0, 8}}}
	bias := func(told bool) float64 {
		sum := 0.0
		for seed := range n {
			obs := s.observe(p, rand.New(rand.NewPCG(5, uint64(seed))))
			for i := range obs {
				if o := &obs[i]; o.Y < 4 { // seen from below
					o.Blind = told
					if o.Side == Split {
						o.Side = Inside
					}
				}
			}
			m := s.measures()
			r, err := Fit(obs, m, DefaultOptions(m))
			if err != nil {
				t.Fatal(err)
			}
			low := math.Inf(1)
			for _, v := range r.Rings[0].Vertices {
				low = min(low, v.Y)
			}
			sum -= low / n
		}
		return sum
	}
	// One fit is good to 8 mm (0.744·√(0.01/(16·12)) and a little for the gaps), the mean of five to 4 mm.
	if b := bias(true); math.Abs(b) > 0.012 {
		t.Errorf("the edge lies %.1f mm outward", 1000*b)
	}
	if b := bias(false); b < 0.02 {
		t.Errorf("the case shows nothing: the edge lies %.1f mm outward without being told", 1000*b)
	}
}

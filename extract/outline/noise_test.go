package outline

import (
	"math"
	"math/rand/v2"
	"testing"
)

// TestEstimateNoise simulates a block of buildings with one noise and beam, fits them with others, and asks for the true ones back.
func TestEstimateNoise(t *testing.T) {
	p := NewProfiler(0.005)
	for _, s := range []sampling{
		{density: 8, sigma: 0.03, pattern: "scan"},
		{density: 30, sigma: 0.02, pattern: "scan", beam: 0.05},
		{density: 30, sigma: 0.05, pattern: "poisson", beam: 0.03},
		{density: 100, sigma: 0.01, pattern: "scan", beam: 0.10},
	} {
		var e NoiseEvidence
		for i, name := range []string{"rectangle", "L", "T", "U"} {
			rng := rand.New(rand.NewPCG(3, uint64(i)))
			plan := shapes(8)[name].turned(rng.Float64()*6, 0, 0)
			obs := s.observe(plan, rng)
			m := s.measures()
			m.Sigma, m.Beam = 0.03, 0.04
			r, err := Fit(obs, m, DefaultOptions(m))
			if err != nil {
				t.Fatal(err)
			}
			e.Add(p.Evidence(obs, m, r))
		}
		sigma, beam, ok := EstimateNoise(e)
		t.Logf("%+v: sigma %.4f beam %.4f ok %v pieces %d points %d", s, sigma, beam, ok, e.Pieces, e.Inside+e.Split+e.Outside)
		if math.Abs(sigma-s.sigma) > 0.15*s.sigma+0.002 || math.Abs(beam-s.beam) > 0.1*s.beam+0.003 {
			t.Errorf("%+v: got sigma %.4f, beam %.4f", s, sigma, beam)
		}
	}
}

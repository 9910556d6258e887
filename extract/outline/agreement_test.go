package outline

import (
	"math"
	"math/rand/v2"
	"testing"
)

// TestDisagreementWithoutEvidence checks what holds where no edge is seen by two swaths: the half-normal of 2 cm (Vosselman 2008), whose mean
// square is its scale's.
func TestDisagreementWithoutEvidence(t *testing.T) {
	var none SwathEvidence
	if got := none.Disagreement(); math.Abs(got-agreementPrior) > 1e-3 {
		t.Errorf("swaths disagree by %.4f m before any is seen, want %.4f", got, agreementPrior)
	}
}

// TestDisagreementFindsShifts flies twelve houses with three swaths that are off by 4 cm, one standard deviation, or not at all, and with noise
// within them known and not known.
func TestDisagreementFindsShifts(t *testing.T) {
	for _, row := range []struct{ density, within, apart, low, high float64 }{
		{30, 0.01, 0, 0, 0.008}, {30, 0.01, 0.04, 0.03, 0.05}, {30, 0, 0.04, 0.025, 0.055},
	} {
		var pooled SwathEvidence
		for k := range 12 {
			rng := rand.New(rand.NewPCG(11, uint64(k)))
			p := plan{{{0, 0}, {12, 0}, {12, 9}, {0, 9}}}.turned(rng.Float64(), 0, 0)
			s := sampling{density: row.density, sigma: 0.01, pattern: "poisson"}
			obs := s.observe(p, rng)
			r, err := Fit(obs, s.measures(), DefaultOptions(s.measures()))
			if err != nil {
				t.Fatal(err)
			}
			var off [3][2]float64
			for i := range off {
				off[i] = [2]float64{row.apart * rng.NormFloat64(), row.apart * rng.NormFloat64()}
			}
			for i := range obs {
				obs[i].Swath = uint16(i % 3)
				obs[i].X += off[obs[i].Swath][0]
				obs[i].Y += off[obs[i].Swath][1]
			}
			m := s.measures()
			m.Sigma = math.Hypot(m.Sigma, row.apart*math.Sqrt(2.0/3))
			pooled.Add(Agreement(obs, m, row.within, r))
		}
		if got := pooled.Disagreement(); pooled.Edges < 40 || got < row.low || got > row.high {
			t.Errorf("%+v: %d edges tell %.4f m", row, pooled.Edges, got)
		}
	}
}

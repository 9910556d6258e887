package accuracy

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"

	"quoin/vector"
)

// dᵀC⁻¹d by hand: C = [4 2; 2 3], whose inverse is [3 -2; -2 4]/8, and d =
// (1, 1) give 3/8.
func TestNormalisedSquare(t *testing.T) {
	c := Corner{SigmaE: 2, SigmaN: math.Sqrt(3), CovEN: 2}
	near(t, "square", c.normalised(orb.Point{1, 1}), 3.0/8, 1e-12)
	if q := (Corner{SigmaE: 1}).normalised(orb.Point{1, 1}); !math.IsNaN(q) {
		t.Errorf("without a covariance: %g", q)
	}
}

// Errors drawn from the stated covariance give 1, 1 and 95 %; errors half as
// large again give 2.25 and P(χ² ≤ 5.991/2.25) = 1 - 0.05^(1/2.25) = 0.736.
func TestCalibration(t *testing.T) {
	const n = 40000
	for _, test := range []struct{ scale, nees, cover float64 }{
		{1, 1, 0.95},
		{1.5, 2.25, 1 - math.Pow(0.05, 1/2.25)},
	} {
		random := rand.New(rand.NewPCG(1, 2))
		b := &Block{Spacing: 1, Shifted: true, Shift: orb.Point{10, 20}}
		var pool cornerPool
		for range n {
			// Correlated errors of C = [1 0.6; 0.6 1] cm².
			u, v := random.NormFloat64()*test.scale, random.NormFloat64()*test.scale
			pool.add(b, Corner{
				Delta:  orb.Point{10 + u/100, 20 + (0.6*u+0.8*v)/100},
				SigmaE: 0.01, SigmaN: 0.01, CovEN: 0.6e-4, Kind: vector.Adjusted,
			})
		}
		f := pool.figures()
		// The mean of n squares over 2 has a standard error of 1/√n, the
		// cover one of √(p(1-p)/n); both get four of them.
		near(t, "mean square over 2", f.NEES, test.nees, 4*test.nees/math.Sqrt(n))
		near(t, "median", f.Median, test.nees, 8*test.nees/math.Sqrt(n))
		near(t, "cover", f.Cover.Value(), test.cover, 4*math.Sqrt(test.cover*(1-test.cover)/n))
		if f.CoverRaw.Count != 0 {
			t.Error("a shift of metres is within the ellipse")
		}
	}
}

// Quantiles of χ² with two degrees of freedom, F = 1 - exp(-x/2).
func TestQuantiles(t *testing.T) {
	near(t, "95 %", 1-math.Exp(-chi95/2), 0.95, 1e-12)
	near(t, "50 %", 1-math.Exp(-chi50/2), 0.5, 1e-12)
}

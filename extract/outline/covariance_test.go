package outline

import (
	"math"
	"testing"
)

// TestEdgeInformation checks ∫φ²/(Φ(1-Φ)) = 1.8064, from which the two-sided bound sd(d) >= 0.744·√(σ/(ρL)) follows, and that a wide beam
// doubles it: two boundaries out of each other's reach.
func TestEdgeInformation(t *testing.T) {
	if got := classInformation(0); math.Abs(got-1.8064) > 5e-5 {
		t.Errorf("information of two classes %.5f, want 1.8064", got)
	}
	if got := 1 / math.Sqrt(classInformation(0)); math.Abs(got-0.744) > 5e-4 {
		t.Errorf("two-sided factor %.4f, want 0.744", got)
	}
	if got := 1 / math.Sqrt(classInformation(0)/2); math.Abs(got-1.052) > 5e-4 {
		t.Errorf("one-sided factor %.4f, want 1.052", got)
	}
	if got := classInformation(8) / classInformation(0); math.Abs(got-2) > 1e-3 {
		t.Errorf("wide beam gains %.4f, want 2", got)
	}
}

// TestSupportVariance checks one edge of 10 m at 8 points a square metre by hand: noise 3 cm gives nu = 2.4 and
// V2 = [0.3535+0.412·2.4^1.5]^(2/3)/80² = 2.385e-4 m², 1.544 cm; exact places give √½/80 = 0.88 cm; from one side 1/80 = 1.25 cm, and with noise 2.184 cm.
func TestSupportVariance(t *testing.T) {
	s := span{nx: 1, tb: 10}
	g := sighting{slackIn: math.Inf(1), slackOut: math.Inf(1), in: 160, out: 160, areaIn: 20, areaOut: 20, bins: []bin{{t: 5, in: 160, out: 160, areaIn: 20, areaOut: 20}}}
	for _, row := range []struct{ sigma, pull, want float64 }{
		{0.03, 0, 0.01544}, {0, 0, 0.00884}, {0, 80, 0.0125}, {0.03, 80, 0.02184},
	} {
		s.pull = row.pull
		v := newPrecision(Measures{Spacing: math.Sqrt(1.0 / 8), Sigma: row.sigma}, false).support(&s, &g, 8).variance
		if math.Abs(math.Sqrt(v)-row.want) > 1e-4 {
			t.Errorf("sigma %v, pull %v: sd %.5f, want %.5f", row.sigma, row.pull, math.Sqrt(v), row.want)
		}
	}
}

// TestGapPatterns checks the moments of gaps: lines d apart give a mean recurrence of d/2 and a variance of the gap's middle of d²/12.
func TestGapPatterns(t *testing.T) {
	var h []float64
	for line := range 200 {
		for range 5 {
			h = append(h, 0.4*float64(line))
		}
	}
	g := sumGaps(h)
	if got := g.recurrence(1e6); math.Abs(got-0.2) > 1e-4 {
		t.Errorf("recurrence %v, want 0.2", got)
	}
	if got := g.variance(1e6); math.Abs(got-0.16/12) > 1e-5 {
		t.Errorf("variance %v, want %v", got, 0.16/12)
	}
	if apart, share := scanLines(h[:80], nil, 0.3, 0); math.Abs(apart-0.4) > 0.02 || share < 0.9 {
		t.Errorf("lines %v apart with share %v, want 0.4 and 1", apart, share)
	}
}

// TestCornerCovariance checks a rectangle of known direction by hand: corner variances are those of its two edges.
func TestCornerCovariance(t *testing.T) {
	m := planModel(plan{{{0, 0}, {10, 0}, {10, 6}, {0, 6}}})
	spans := m.spans(0, nil)
	n := m.parameters()
	cov := make([]float64, n*n)
	for i, v := range []float64{0, 1, 4, 9, 16} {
		cov[i*n+i] = v
	}
	xx, xy, yy := cornerCovariance(n, cov, &spans[0], &spans[1])
	if math.Abs(xx-4) > 1e-12 || math.Abs(xy) > 1e-12 || math.Abs(yy-1) > 1e-12 {
		t.Errorf("corner of the first and second edge: %v %v %v, want 4 0 1", xx, xy, yy)
	}
	if got, want := areaVariance(n, cov, spans), 100.0*1+36*4+100*9+36*16; math.Abs(got-want) > 1e-9 {
		t.Errorf("area variance %v, want %v", got, want)
	}
}

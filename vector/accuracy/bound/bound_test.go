package bound

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"
)

// near fails unless a value is within a share of what is wanted.
func near(t *testing.T, what string, got, want, share float64) {
	t.Helper()
	if !(math.Abs(got-want) <= share*math.Abs(want)) {
		t.Errorf("%s is %v, not %v", what, got, want)
	}
}

func TestVarianceOfAnEdgeByHand(t *testing.T) {
	// 8 points a square metre, 10 m, 3 cm: ν = 2.4, and the closed form
	// [0.3535 + 0.412·ν^1.5]^(2/3)/(ρL)² gives (1.54 cm)².
	near(t, "two-sided", math.Sqrt(View{Density: 8, Sigma: 0.03}.Variance(10)), 0.0154, 0.005)
	// Without noise 0.707/(ρL) from both sides and 1/(ρL) from one.
	near(t, "hard, two-sided", math.Sqrt(View{Density: 4}.Variance(10)), 0.7071/40, 1e-3)
	near(t, "hard, one-sided", math.Sqrt(View{Density: 4, Hidden: 1}.Variance(10)), 1.0/40, 1e-6)
	// Much noise: 0.744·√(σ/ρL) and 1.052·√(σ/ρL).
	near(t, "smooth, two-sided", math.Sqrt(View{Density: 500, Sigma: 0.3}.Variance(10)), 0.744*math.Sqrt(0.3/5000), 2e-3)
	near(t, "smooth, one-sided", math.Sqrt(View{Density: 500, Sigma: 0.3, Hidden: 1}.Variance(10)), 1.052*math.Sqrt(0.3/5000), 2e-3)
	// Lines 30 cm apart along the edge: uniform within the gap, 30 cm/√12,
	// from either side, however many points there are on them.
	lines := View{Density: 1000, Gaps: []float64{0.3, 0.3, 0.3}}
	near(t, "lines along the edge", math.Sqrt(lines.Variance(10)), 0.3/math.Sqrt(12), 1e-3)
	lines.Hidden = 1
	near(t, "lines, one-sided", math.Sqrt(lines.Variance(10)), 0.3/math.Sqrt(12), 1e-3)
}

// Gaps of a Poisson pattern must give what the closed form for it says.
func TestGapsOfAPoissonPattern(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	gaps := make([]float64, 400000)
	for i := range gaps {
		gaps[i] = rng.ExpFloat64() / 40
	}
	mean, _, cube := moments(gaps)
	near(t, "E[g³]/12E[g]", cube/(12*mean), between(40, 0), 0.03)
}

// A beam adds pulses that bound the edge: where it is wide, twice as many.
func TestBeamSharpensTheEdge(t *testing.T) {
	near(t, "wide beam", between(40, 10), between(80, 0), 1e-9)
	near(t, "narrow beam", between(40, 1e-7), between(40, 0), 1e-4)
	near(t, "information, no beam", ordered(1e-9, 1), 1.8064, 1e-3)
	near(t, "information, wide beam", ordered(5, 1), 2*1.8064, 1e-3)
}

func TestCornersOfARectangle(t *testing.T) {
	ring := Ring{{0, 0}, {12, 0}, {12, 8}, {0, 8}}
	views := make([]View, 4)
	for i := range views {
		views[i] = View{Density: 8, Sigma: 0.03}
	}
	got, err := Corners([]Ring{ring}, views)
	if err != nil {
		t.Fatal(err)
	}
	long, short := views[0].Variance(12), views[0].Variance(8)
	// By hand: directions are told by 12·V/L² of each edge, two of either
	// length, and move a corner by half a length across either edge.
	slope := 1 / (2*144/(12*long) + 2*64/(12*short))
	want := long + short + slope*(36+16)
	for _, v := range got {
		near(t, "corner", v, want, 1e-9)
	}
}

func TestCornersDoNotMoveWithThePlace(t *testing.T) {
	shapes := func(dx, turn float64) []Ring {
		s, c := math.Sincos(turn)
		var r Ring
		for _, v := range [][2]float64{{0, 0}, {12, 0}, {12, 4}, {5, 4}, {5, 10}, {0, 10}} {
			r = append(r, [2]float64{c*v[0] - s*v[1] + dx, s*v[0] + c*v[1] - dx})
		}
		return []Ring{r}
	}
	views := make([]View, 6)
	for i := range views {
		views[i] = View{Density: 4, Sigma: 0.02, Hidden: float64(i%2) / 3}
	}
	a, err := Corners(shapes(0, 0), views)
	if err != nil {
		t.Fatal(err)
	}
	b, err := Corners(shapes(500, 1), views)
	if err != nil {
		t.Fatal(err)
	}
	for i := range a {
		near(t, "corner", b[i], a[i], 1e-6)
	}
}

func TestCornersRefuseWhatIsNoPlan(t *testing.T) {
	for _, rings := range [][]Ring{nil, {{{0, 0}, {1, 0}}}, {{{0, 0}, {1, 0}, {1, 1}}}} {
		if _, err := Corners(rings, make([]View, 2)); !errors.Is(err, ErrShape) {
			t.Errorf("%v: %v", rings, err)
		}
	}
}

package swath

import (
	"math"
	"math/rand/v2"
	"testing"

	"quoin/extract/cloud"
)

// hips is a place of hipped roofs of 30°, 16 m wide, on flat ground.
func hips(x, y float64) float64 {
	u, v := math.Abs(math.Remainder(x, 24)), math.Abs(math.Remainder(y, 24))
	if d := 8 - max(u, v); d > 0 {
		return 5 + d*math.Tan(30*degree)
	}
	return 0
}

// gables is a place of roofs whose ridges all run east.
func gables(_, y float64) float64 { return math.Abs(math.Remainder(y, 20)) * 0.6 }

// survey2 returns points of two swaths, the second shifted.
func survey2(seed uint64, density, noise float64, shift vec, surface func(x, y float64) float64) []cloud.Point {
	const side = 72
	r := rand.New(rand.NewPCG(seed, 9))
	var points []cloud.Point
	for swath := range 2 {
		s := shift.scale(float64(swath))
		for range int(density * side * side) {
			x, y := r.Float64()*side, r.Float64()*side
			z := surface(x, y) + noise*r.NormFloat64()
			x, y = x+noise*r.NormFloat64(), y+noise*r.NormFloat64()
			points = append(points, cloud.Pack(x+s[0], y+s[1], z+s[2], cloud.Attributes{
				Source: uint16(swath + 3), Time: 100 * float64(swath), Return: 1, Returns: 1,
			}))
		}
	}
	return points
}

func TestSwathsTellTheirShift(t *testing.T) {
	shift := vec{0.06, -0.04, 0.03}
	for _, density := range []float64{4, 30} {
		r := Measure(blockOf(survey2(1, density, 0.02, shift, hips)), 2).Report
		pairs := r.Pairs
		if len(pairs) != 1 {
			t.Fatalf("%d pairs of swaths, want 1", len(pairs))
		}
		p := pairs[0]
		t.Logf("%+v", p)
		if !p.Horizontal || !p.Shifted {
			t.Errorf("at %.0f/m²: horizontal %v, shifted %v, want both", density, p.Horizontal, p.Shifted)
		}
		// An edge that both see is blurred by half of the shift.
		want := math.Sqrt(0.02*0.02 + (shift[0]*shift[0]+shift[1]*shift[1])/2/4)
		if got := r.Sigma.Value; math.Abs(got-want) > 0.1*want {
			t.Errorf("at %.0f/m²: horizontal noise %.4f m, want %.4f", density, got, want)
		}
		for i, c := range []struct{ got, sigma float64 }{{p.DE, p.SigmaDE}, {p.DN, p.SigmaDN}, {p.DZ, p.SigmaDZ}} {
			if e := math.Abs(c.got - shift[i]); e > 4*c.sigma+0.001 || c.sigma > 0.02 {
				t.Errorf("at %.0f/m²: axis %d: %.4f ± %.4f, want %.4f", density, i, c.got, c.sigma, shift[i])
			}
		}
	}
}

// Stated standard errors are those that repetition shows. With 20 trials of
// three axes the mean squared ratio has a standard error of √(2/60) = 0.18.
func TestShiftErrorsAreHonest(t *testing.T) {
	var sum float64
	const trials = 20
	for seed := range uint64(trials) {
		p := Measure(blockOf(survey2(seed, 8, 0.02, vec{}, hips)), 2).Report.Pairs[0]
		for _, r := range []float64{p.DE / p.SigmaDE, p.DN / p.SigmaDN, p.DZ / p.SigmaDZ} {
			sum += r * r / (3 * trials)
		}
		if p.Shifted {
			t.Errorf("seed %d: a shift out of nothing: %+v", seed, p)
		}
	}
	t.Logf("mean squared ratio %.2f", sum)
	if sum < 0.5 || sum > 1.5 {
		t.Errorf("squared shifts are %.2f times what was stated", sum)
	}
}

// Flat ground and roofs of one direction do not tell a horizontal shift, and
// none is stated.
func TestHorizontalShiftNeedsThreeGradients(t *testing.T) {
	for name, surface := range map[string]func(x, y float64) float64{
		"flat":   func(x, y float64) float64 { return 3 },
		"gables": gables,
	} {
		p := Measure(blockOf(survey2(2, 15, 0.02, vec{0.2, 0, 0.05}, surface)), 2).Report.Pairs[0]
		if p.Horizontal || p.DE != 0 || p.DN != 0 {
			t.Errorf("%s: a horizontal shift of %.3f, %.3f m is stated", name, p.DE, p.DN)
		}
		if math.Abs(p.DZ-0.05) > 0.003 {
			t.Errorf("%s: height shift %.4f m, want 0.05", name, p.DZ)
		}
	}
}

// One part of the place changed between the flights: a pile 2 m high on a
// tenth of it does not move the shift.
func TestChangeIsNotShift(t *testing.T) {
	points := survey2(3, 15, 0.02, vec{0, 0, 0.02}, hips)
	for i := range points {
		if p := &points[i]; p.Source == 4 && p.East() < 10 {
			p.Z += 20000
		}
	}
	p := Measure(blockOf(points), 2).Report.Pairs[0]
	if math.Abs(p.DZ-0.02) > 0.002 || math.Abs(p.DE) > 0.01 || math.Abs(p.DN) > 0.01 {
		t.Errorf("shift %.4f, %.4f, %.4f m, want 0, 0, 0.02", p.DE, p.DN, p.DZ)
	}
}

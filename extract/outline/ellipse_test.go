package outline

import (
	"math"
	"math/rand/v2"
	"testing"
)

func TestEllipseByHand(t *testing.T) {
	e := NewEllipse(0.05, 0.02, math.Pi/6)
	s, c := math.Sincos(math.Pi / 6)
	for _, k := range []struct{ nx, ny, want float64 }{{c, s, 0.05}, {-s, c, 0.02}, {-c, -s, 0.05}} {
		if got := e.Across(k.nx, k.ny); math.Abs(got-k.want) > 1e-12 {
			t.Errorf("across %v, %v it is %v, not %v", k.nx, k.ny, got, k.want)
		}
	}
	if got, want := e.longest(), 0.05; math.Abs(got-want) > 1e-12 {
		t.Errorf("the longest is %v, not %v", got, want)
	}
	if got, want := e.Mean(), math.Sqrt((0.0025+0.0004)/2); math.Abs(got-want) > 1e-12 {
		t.Errorf("the mean is %v, not %v", got, want)
	}
}

// Where split pulses can't be told the outline would come out as much larger as the beam is wide; told the width by direction, it does not,
// along either direction, and told only the mean it is off by the difference.
func TestElongatedBeamMovesNoEdge(t *testing.T) {
	const along, across = 0.12, 0.02
	p := plan{{{0, 0}, {14, 0}, {14, 9}, {0, 9}}}
	var told, mean [2]float64 // offsets across x, across y
	const trials = 6
	for k := range trials {
		rng := rand.New(rand.NewPCG(5, uint64(k)))
		var obs []Observation
		for range 30 * 20 * 15 {
			x, y := -3+20*rng.Float64(), -3+15*rng.Float64()
			o := Observation{X: x + 0.01*rng.NormFloat64(), Y: y + 0.01*rng.NormFloat64()}
			if x < -along || x > 14+along || y < -across || y > 9+across {
				o.Side = Outside // no part of the footprint, a box here, met the roof
			}
			obs = append(obs, o)
		}
		m := Measures{Spacing: 1 / math.Sqrt(30), Sigma: 0.01, Beam: math.Sqrt((along*along + across*across) / 2), SplitsMerged: true}
		mean = add(mean, outwardOf(t, p, obs, m), trials)
		m.Footprint = NewEllipse(along, across, 0)
		told = add(told, outwardOf(t, p, obs, m), trials)
	}
	for i := range told {
		if math.Abs(told[i]) > 0.006 {
			t.Errorf("told the ellipse, edges lie %.1f mm outward", 1000*told[i])
		}
		if math.Abs(mean[i]) < 0.025 {
			t.Errorf("told the mean, edges lie only %.1f mm off: the test shows nothing", 1000*mean[i])
		}
	}
}

func add(sum, v [2]float64, n float64) [2]float64 {
	return [2]float64{sum[0] + v[0]/n, sum[1] + v[1]/n}
}

// outwardOf is how far outward the sides of a box lie, in x and in y.
func outwardOf(t *testing.T, p plan, obs []Observation, m Measures) [2]float64 {
	t.Helper()
	r, err := Fit(obs, m, DefaultOptions(m))
	if err != nil {
		t.Fatal(err)
	}
	x0, y0, x1, y1 := math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)
	for _, v := range r.Rings[0].Vertices {
		x0, y0, x1, y1 = min(x0, v.X), min(y0, v.Y), max(x1, v.X), max(y1, v.Y)
	}
	return [2]float64{(x1 - x0 - p[0][2][0]) / 2, (y1 - y0 - p[0][2][1]) / 2}
}

package outline

import (
	"math"
	"math/rand/v2"
	"testing"
)

// TestPlacingBetweenTwoPoints checks exact places by hand: a roof point 0.1 m inside the fitted edge and a ground point 0.3 m outside it leave the
// edge anywhere between, so that it lies 0.1 m outside in the mean, and (0.3³ + 0.1³)/(3·0.4) = 0.02333 m² about the fit.
func TestPlacingBetweenTwoPoints(t *testing.T) {
	p := sideModel{normal: normals(), sigma: 1e-4, floor: 1e-9}
	near := []reading{{h: 0.1, side: Inside}, {h: -0.3, side: Outside}}
	at := p.place(near, 0, 0.5, 5)
	if at.open || math.Abs(at.mean-0.1) > 2e-3 || math.Abs(at.square-0.028/1.2) > 5e-4 {
		t.Errorf("mean %.4f and mean square %.5f, open %v; want 0.1, 0.02333, false", at.mean, at.square, at.open)
	}
	if at := p.place(near[:1], 0, 0.5, 5); !at.open {
		t.Error("an edge with nothing seen beside it is taken to be bounded")
	}
	// From one side with a pull of 20 a metre outward what is likely falls as exp(-20·x) from the last roof point on: mean 1/20 beyond it.
	if at := p.place(near[:1], 20, 0.5, 5); math.Abs(at.mean+0.1-0.05) > 3e-3 {
		t.Errorf("one-sided mean %.4f, want %.4f", at.mean, 0.05-0.1)
	}
}

// TestPlacingIsCalibrated draws edges with random points about them and compares the error of the posterior mean with its variance, from
// places all but exact to noise much larger than the gaps; and the mean variance with V2 of algorithms of single edges,
// [0.3535 + 0.412·ν^1.5]^(2/3)/(ρL)², which is within 3 % of simulation.
func TestPlacingIsCalibrated(t *testing.T) {
	const n, rate, depth = 1500, 40.0, 2.0 // rate: points a metre of depth, ρL
	for _, sigma := range []float64{0.0005, 0.02, 0.1} {
		rng := rand.New(rand.NewPCG(3, uint64(1e4*sigma)))
		p := sideModel{normal: normals(), sigma: sigma, floor: 1e-6}
		errors, variances, ratio := 0.0, 0.0, 0.0
		for range n {
			var near []reading
			for range int(2 * depth * rate) {
				true0 := depth * (2*rng.Float64() - 1)
				r := reading{h: true0 + sigma*rng.NormFloat64(), side: Inside}
				if true0 < 0 {
					r.side = Outside
				}
				near = append(near, r)
			}
			at := p.place(near, 0, 0.1, 1)
			v := at.square - at.mean*at.mean
			errors, variances, ratio = errors+at.mean*at.mean/n, variances+v/n, ratio+at.mean*at.mean/v/n
		}
		nu := rate * sigma
		want := math.Pow(0.3535+0.412*math.Pow(nu, 1.5), 2.0/3) / (rate * rate)
		if math.Abs(variances/want-1) > 0.1 || math.Abs(errors/variances-1) > 0.15 || math.Abs(ratio-1) > 0.15 {
			t.Errorf("ν %.2f: mean variance %.4g (V2 %.4g), mean square error over it %.3f, mean normalised square %.3f", nu, variances, want, errors/variances, ratio)
		}
	}
}

// TestStrayNeedsEvidence checks that an end that the readings bind keeps its error, and that wrong labels a hand's breadth outside add
// about the square of their distance.
func TestStrayNeedsEvidence(t *testing.T) {
	p := sideModel{normal: normals(), sigma: 0.02, floor: 0.005}
	var near []reading
	for k := range 40 {
		h := 0.03 * (float64(k) + 0.5)
		near = append(near, reading{h: h, side: Inside}, reading{h: -h, side: Outside})
	}
	if v := p.stray(near, 1e-4, 0.5); v > 1e-4 {
		t.Errorf("a bound end strays by %.4f m", math.Sqrt(v))
	}
	for k := range near {
		if near[k].side == Outside && near[k].h > -0.3 {
			near[k].side = Inside
		}
	}
	if v := math.Sqrt(p.stray(near, 1e-4, 0.5)); math.Abs(v-0.3) > 0.05 {
		t.Errorf("an end that lies 0.3 m further out strays by %.3f m", v)
	}
}

// TestCutCorner checks that a corner full of roof points is taken for one, that ground points within it speak for a slant, and that
// the part lies along the two edges.
func TestCutCorner(t *testing.T) {
	square := plan{{{0, 0}, {10, 0}, {10, 8}, {0, 8}}}
	rng := rand.New(rand.NewPCG(5, 5))
	s := sampling{density: 8, sigma: 0.02, pattern: "poisson"}
	obs := s.observe(square, rng)
	doubt := func(obs []Observation) (xx, xy, yy float64) {
		f, err := newFitter(obs, s.measures(), DefaultOptions(s.measures()))
		if err != nil {
			t.Fatal(err)
		}
		m := planModel(square)
		for r := range m.rings {
			for i := range m.rings[r] {
				e := &m.rings[r][i]
				nx, ny := normal(m.theta[e.family], e.quarter)
				e.offset -= nx*f.ox + ny*f.oy
			}
		}
		spans := m.spans(0, nil)
		for i := range spans {
			if a, b := &spans[spans[i].prev], &spans[i]; math.Hypot(b.ax+f.ox-10, b.ay+f.oy-8) < 1e-6 {
				return f.cutCorner(a, b)
			}
		}
		t.Fatal("no such corner")
		return 0, 0, 0
	}
	for len(obs) == 0 {
		t.Fatal("no observations")
	}
	full := append([]Observation(nil), obs...)
	for k := range 6 {
		full = append(full, Observation{X: 9.9 - 0.1*float64(k), Y: 7.9 - 0.05*float64(k), Side: Inside})
	}
	xx, _, yy := doubt(full)
	if math.Sqrt(max(xx, yy)) > 0.02 {
		t.Errorf("a corner full of roof is doubted by %.3f and %.3f m", math.Sqrt(xx), math.Sqrt(yy))
	}
	var cut []Observation
	for _, o := range obs {
		if o.Side == Inside && (10-o.X)+(8-o.Y) < 1.2 {
			o.Side = Outside
		}
		cut = append(cut, o)
	}
	cut = append(cut, Observation{X: 9.6, Y: 7.6, Side: Outside}, Observation{X: 9.7, Y: 7.5, Side: Outside})
	xx, xy, yy := doubt(cut)
	if math.Abs(math.Sqrt(xx)-1.2/math.Sqrt2) > 0.25 || math.Abs(xx-yy) > 1e-9 || math.Abs(xy) > 1e-9 {
		t.Errorf("a corner with 1.2 m cut off is doubted by %.3f and %.3f m, mixed %.4f", math.Sqrt(xx), math.Sqrt(yy), xy)
	}
}

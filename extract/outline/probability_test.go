package outline

import (
	"math"
	"math/rand/v2"
	"testing"
)

// TestOwen checks T against values with a closed form: T(h,1) = Φ(h)(1-Φ(h))/2, T(0,a) = atan(a)/2π, T(h,∞) = (1-Φ(|h|))/2, and
// against the integral itself by Simpson's rule (Owen 1956).
func TestOwen(t *testing.T) {
	for _, h := range []float64{0, 0.1, 0.5, 1, 2, 3.5, 6} {
		if got, want := normals().owen(h, 1), cumulative(h)*cumulative(-h)/2; math.Abs(got-want) > 1e-9 {
			t.Errorf("T(%v,1) = %v, want %v", h, got, want)
		}
		if got, want := normals().owen(h, math.Inf(1)), cumulative(-h)/2; math.Abs(got-want) > 1e-9 {
			t.Errorf("T(%v,∞) = %v, want %v", h, got, want)
		}
		for _, a := range []float64{-40, -3, -0.7, 0.01, 0.3, 0.99, 1.01, 2, 7, 300} {
			if got, want := normals().owen(h, a), owenSimpson(h, a); math.Abs(got-want) > 1e-9 {
				t.Errorf("T(%v,%v) = %v, want %v", h, a, got, want)
			}
		}
	}
	if got, want := normals().owen(0, 0.5), math.Atan(0.5)/(2*math.Pi); math.Abs(got-want) > 1e-12 {
		t.Errorf("T(0,0.5) = %v, want %v", got, want)
	}
}

func owenSimpson(h, a float64) float64 {
	const n = 200000
	f := func(x float64) float64 { return math.Exp(-h*h*(1+x*x)/2) / (1 + x*x) / (2 * math.Pi) }
	sum := f(0) + f(a)
	for i := 1; i < n; i++ {
		sum += float64(2+2*(i&1)) * f(a*float64(i)/n)
	}
	return sum * a / n / 3
}

// one evaluates the probability of being inside at one place, and its gradient by all parameters.
func one(m *model, x, y, sigma float64) (float64, []float64) {
	l := newLikelihood(newField([]Observation{{X: x, Y: y}}, 0.7), Measures{Spacing: 1}, 1e-12)
	var e evaluation
	v := math.Exp(l.at(m, sigma, l.all(), &e))
	for i := range e.gradient {
		e.gradient[i] *= v
	}
	return v, e.gradient
}

// TestSingleEdge checks the profile of a lone edge by hand: at u outside it the chance of having come from inside is Φ(-u/σ), a half on
// it, 0.8413 one sigma inside; the derivative by its offset is the density.
func TestSingleEdge(t *testing.T) {
	m := planModel(plan{{{-50, -50}, {50, -50}, {50, 50}, {-50, 50}}})
	const sigma = 0.3
	for _, row := range []struct{ u, p, slope float64 }{
		{0, 0.5, 1.329808}, {-0.3, 0.841345, 0.806570}, {0.3, 0.158655, 0.806570}, {0.6, 0.022750, 0.179970},
	} {
		p, g := one(m, 3, -50-row.u, sigma)
		if math.Abs(p-row.p) > 2e-6 || math.Abs(g[1]-row.slope) > 2e-6 {
			t.Errorf("%v outside: p = %.6f, slope %.6f; want %.6f, %.6f", row.u, p, g[1], row.p, row.slope)
		}
	}
}

// TestCorner checks right-angled corners against products of Φ (Green's theorem): convex Φ(a)Φ(b), reflex 1-Φ(-a)Φ(-b), whatever way
// the shape is turned.
func TestCorner(t *testing.T) {
	const sigma = 0.2
	base := plan{{{0, 0}, {9, 0}, {9, 4}, {4, 4}, {4, 9}, {0, 9}}}
	for _, theta := range []float64{0, 0.3, 1.2, 2.9} {
		m := planModel(base.turned(theta, 1, 2))
		s, c := math.Sincos(theta)
		for _, d := range [][2]float64{{0, 0}, {0.1, -0.3}, {-0.25, -0.05}, {0.4, 0.2}} {
			convex := cumulative(d[0]/sigma) * cumulative(d[1]/sigma)
			reflex := 1 - cumulative(d[0]/sigma)*cumulative(d[1]/sigma)
			for _, at := range []struct{ x, y, want float64 }{{d[0], d[1], convex}, {4 + d[0], 4 + d[1], reflex}} {
				if p, _ := one(m, c*at.x-s*at.y+1, s*at.x+c*at.y+2, sigma); math.Abs(p-at.want) > 1e-8 {
					t.Errorf("turned %v, at %v, %v: %v, want %v", theta, at.x, at.y, p, at.want)
				}
			}
		}
	}
}

// TestProbabilityMonteCarlo checks polygons with acute, obtuse and reflex corners and a hole against the share of 40000 blurred places
// that fall inside: standard error at most 0.0025, tolerance four of them.
func TestProbabilityMonteCarlo(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 5))
	plans := []plan{
		freeShapes()["triangle"], freeShapes()["two wings"], freeShapes()["octagon"],
		{{{0, 0}, {6, 0}, {6, 5}, {3, 2}, {0, 5}}, {{2, 0.5}, {2, 1.5}, {4, 1.5}, {4, 0.5}}},
	}
	for k, p := range plans {
		m := planModel(p)
		for range 30 {
			v := p[rng.IntN(len(p))]
			c := v[rng.IntN(len(v))]
			x, y := c[0]+rng.NormFloat64(), c[1]+rng.NormFloat64()
			const sigma, n = 0.6, 40000
			in := 0
			for range n {
				if p.distance(x+sigma*rng.NormFloat64(), y+sigma*rng.NormFloat64()) > 0 {
					in++
				}
			}
			if got, _ := one(m, x, y, sigma); math.Abs(got-float64(in)/n) > 0.01 {
				t.Errorf("plan %d at %.3f, %.3f: %.4f, want %.4f", k, x, y, got, float64(in)/n)
			}
		}
	}
}

// TestGradient compares score and information with differences of the log-likelihood, with three classes, a hole, free directions and a
// one-sided edge.
func TestGradient(t *testing.T) {
	p := plan{{{0, 0}, {9, 0.5}, {8, 6}, {4, 4}, {0, 6}}, {{2, 1}, {2, 3}, {4, 3}, {4, 1}}}
	s := sampling{density: 20, sigma: 0.15, beam: 0.2, pattern: "poisson"}
	obs := s.observe(p, rand.New(rand.NewPCG(1, 1)))
	l := newLikelihood(newField(obs, 0.6), s.measures(), 0.005)
	m := planModel(p)
	m.rings[0][1].pull, m.rings[0][1].pullX, m.rings[0][1].pullY = 7, 8.5, 3
	var e evaluation
	l.at(m, 0.15, l.all(), &e)
	for i := range e.gradient {
		const step = 1e-5
		d := make([]float64, len(e.gradient))
		d[i] = step
		up, down := m.clone(), m.clone()
		up.shift(d)
		d[i] = -step
		down.shift(d)
		want := (l.at(up, 0.15, l.all(), nil) - l.at(down, 0.15, l.all(), nil)) / (2 * step)
		if math.Abs(e.gradient[i]-want) > 1e-4*math.Max(1, math.Abs(want)) {
			t.Errorf("parameter %d: gradient %v, by differences %v", i, e.gradient[i], want)
		}
	}
}

// TestNormalTable compares the table with the functions of the standard library.
func TestNormalTable(t *testing.T) {
	for z := -6.5; z <= 6.5; z += 0.00137 {
		mass, height := normals().at(z)
		if math.Abs(mass-0.5*math.Erfc(-z/math.Sqrt2)) > 1e-9 || math.Abs(height-math.Exp(-z*z/2)/math.Sqrt(2*math.Pi)) > 1e-9 {
			t.Fatalf("at %v: %v and %v", z, mass, height)
		}
	}
}

package imagecheck

import "math"

// A step is one edge of the image in a profile: its place in pixels, and its
// amplitude in each channel.
type step struct {
	at        float64
	amplitude []float64
}

func (s step) size() float64 {
	sum := 0.0
	for _, a := range s.amplitude {
		sum += a * a
	}
	return math.Sqrt(sum)
}

// A model of a profile has in each channel a level with a slope and some steps,
// at the same places in all channels, blurred by the same Gaussian:
// b₀ + b₁·u + Σ Aₖ·Φ((u − oₖ)/s).
type model struct {
	level, slope []float64
	blur         float64
	steps        []step
}

// Bounds of the blur in pixels: sharper than that no sampled edge is, and beyond
// it is a slope.
const sharpest, softest = 0.45, 2.5

func normal(x float64) float64  { return 0.5 * math.Erfc(-x/math.Sqrt2) }
func density(x float64) float64 { return math.Exp(-x*x/2) / math.Sqrt(2*math.Pi) }

func (m *model) at(c int, u float64) float64 {
	v := m.level[c] + m.slope[c]*u
	for _, s := range m.steps {
		v += s.amplitude[c] * normal((u-s.at)/m.blur)
	}
	return v
}

// unknowns counts them: the blur, the steps' places, then for each channel level,
// slope and amplitudes.
func (m *model) unknowns() int {
	k := len(m.steps)
	return 1 + k + len(m.level)*(2+k)
}

// gradient fills in the derivatives of channel c.
func (m *model) gradient(c int, u float64, into []float64) {
	clear(into)
	k := len(m.steps)
	own := into[1+k+c*(2+k):]
	own[0], own[1] = 1, u
	for i, s := range m.steps {
		x := (u - s.at) / m.blur
		d := s.amplitude[c] * density(x) / m.blur
		into[0] -= d * x
		into[1+i] = -d
		own[2+i] = normal(x)
	}
}

// moved returns the model with its unknowns changed, no step by more than a
// pixel at once.
func (m *model) moved(x []float64) model {
	k := len(m.steps)
	out := model{
		blur: min(max(m.blur+x[0], sharpest), softest), steps: make([]step, k),
		level: make([]float64, len(m.level)), slope: make([]float64, len(m.level)),
	}
	for i, s := range m.steps {
		out.steps[i] = step{s.at + min(max(x[1+i], -1), 1), make([]float64, len(m.level))}
	}
	for c := range m.level {
		own := x[1+k+c*(2+k):]
		out.level[c], out.slope[c] = m.level[c]+own[0], m.slope[c]+own[1]
		for i, s := range m.steps {
			out.steps[i].amplitude[c] = s.amplitude[c] + own[2+i]
		}
	}
	return out
}

// gentle is what the slope of a profile usually is, in standard deviations of
// the image beside the edge per pixel; without it a slope takes the place of the
// step before that is found.
const gentle = 0.1

// blur is what is known of the blur of edges in pixels, with its standard
// deviation.
type blur struct{ width, sigma float64 }

// anyBlur is what is known before any edge was seen.
func anyBlur() blur { return blur{0.8, 0.5} }

// A profile is an observed one: values at whole pixels with weights, 0 where
// nothing is seen; both by channel.
type profile struct {
	from   float64 // place of the first value
	blur   blur
	values [][]float64
	weight [][]float64
}

func (p *profile) chi(m *model) float64 {
	d := (m.blur - p.blur.width) / p.blur.sigma
	sum := d * d
	for _, b := range m.slope {
		sum += b * b / (gentle * gentle)
	}
	for c, values := range p.values {
		for i, v := range values {
			r := v - m.at(c, p.from+float64(i))
			sum += p.weight[c][i] * r * r
		}
	}
	return sum
}

// normals sets up the normal equations about a model.
func (p *profile) normals(m *model) *system {
	n := m.unknowns()
	s, g := newSystem(n), make([]float64, n)
	for c, values := range p.values {
		for i, v := range values {
			if p.weight[c][i] > 0 {
				u := p.from + float64(i)
				m.gradient(c, u, g)
				s.add(g, v-m.at(c, u), p.weight[c][i])
			}
		}
	}
	prior := 1 / (p.blur.sigma * p.blur.sigma)
	s.addPrior(0, prior)
	s.rhs[0] -= prior * (m.blur - p.blur.width)
	for c, b := range m.slope {
		i := 1 + len(m.steps) + c*(2+len(m.steps)) + 1
		s.addPrior(i, 1/(gentle*gentle))
		s.rhs[i] -= b / (gentle * gentle)
	}
	for i := range n {
		s.addPrior(i, 1e-9)
	}
	return s
}

// fit adjusts the model to the profile by damped Gauss-Newton steps (Levenberg
// 1944, Marquardt 1963) and returns the weighted sum of squared residuals. What
// is known of the blur counts as an observation.
func (p *profile) fit(m *model, rounds int) float64 {
	chi, damping := p.chi(m), 1e-3
	for range rounds {
		s := p.normals(m)
		for i := range s.n {
			s.addPrior(i, damping*s.mat[i*s.n+i])
		}
		x := s.solve()
		if x == nil {
			return chi
		}
		tried := m.moved(x)
		after := p.chi(&tried)
		if !(after <= chi) {
			if damping *= 10; damping > 1e6 {
				return chi
			}
			continue
		}
		settled := chi-after < 1e-6*chi
		*m, chi, damping = tried, after, damping/10
		if settled {
			return chi
		}
	}
	return chi
}

// formal returns the standard error of each step's place by the weights.
func (p *profile) formal(m *model) []float64 {
	s := p.normals(m)
	out := make([]float64, len(m.steps))
	known := s.factor()
	for k := range out {
		out[k] = math.Inf(1)
		if known {
			unit := make([]float64, s.n)
			unit[1+k] = 1
			out[k] = math.Sqrt(s.back(unit)[1+k])
		}
	}
	return out
}

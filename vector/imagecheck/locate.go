package imagecheck

import "math"

// Steps that are looked for in a profile.
const (
	maxSteps    = 4
	significant = 5   // standard errors of a step's amplitude, at least
	apart       = 0.8 // pixels between two steps
)

// locate finds the steps of a profile one after the other: the strongest in what
// the model does not yet explain, then all of them together, as long as a step
// is significant against the errors in the weights.
func (p *profile) locate() model {
	channels := len(p.values)
	m := model{level: make([]float64, channels), slope: make([]float64, channels), blur: p.blur.width}
	chi := p.fit(&m, 3)
	for len(m.steps) < maxSteps {
		tried, ok := p.more(&m)
		if !ok {
			break
		}
		after := p.fit(&tried, 30)
		if chi-after < significant*significant+float64(2*channels) || !tried.sane(p) {
			break
		}
		m, chi = tried, after
	}
	return m
}

// more returns the model with one more step, at the best of the places where much
// is unexplained: from the first one alone the fit may end beside the true one.
func (p *profile) more(m *model) (model, bool) {
	const starts, rounds = 5, 6
	var best model
	least := math.Inf(1)
	for _, at := range p.strongest(m, starts) {
		tried := m.moved(make([]float64, m.unknowns())) // a copy
		tried.steps = append(tried.steps, step{at, p.jump(m, at)})
		if chi := p.fit(&tried, rounds); chi < least && tried.sane(p) {
			best, least = tried, chi
		}
	}
	return best, !math.IsInf(least, 1)
}

// sane reports whether the steps lie inside the profile and apart.
func (m *model) sane(p *profile) bool {
	last := p.from + float64(len(p.values[0])-1)
	for i, s := range m.steps {
		if s.at < p.from+1 || s.at > last-1 {
			return false
		}
		for _, o := range m.steps[:i] {
			if math.Abs(o.at-s.at) < apart {
				return false
			}
		}
	}
	return true
}

// jump returns the step that is left unexplained at a place, by channel.
func (p *profile) jump(m *model, at float64) []float64 {
	out := make([]float64, len(p.values))
	for c := range out {
		out[c], _ = p.jumpAt(m, c, int(math.Round(at-p.from-0.5)))
	}
	return out
}

// jumpAt returns the unexplained step between the two pixels up to i and the two
// after it, and its standard error; 0 and infinity where a pixel is not seen.
func (p *profile) jumpAt(m *model, c, i int) (size, sigma float64) {
	variance := 0.0
	for k := range 2 {
		low, high := i-k, i+1+k
		if low < 0 || high >= len(p.values[c]) || p.weight[c][low] == 0 || p.weight[c][high] == 0 {
			return 0, math.Inf(1)
		}
		size += (p.values[c][high] - m.at(c, p.from+float64(high)) - p.values[c][low] + m.at(c, p.from+float64(low))) / 2
		variance += (1/p.weight[c][high] + 1/p.weight[c][low]) / 4
	}
	return size, math.Sqrt(variance)
}

// strongest returns the places of the largest unexplained steps in their standard
// errors, all channels together: those that are significant, two pixels apart.
func (p *profile) strongest(m *model, most int) (places []float64) {
	n := len(p.values[0]) - 1
	size := make([]float64, n)
	for i := range size {
		for c := range p.values {
			v, sigma := p.jumpAt(m, c, i)
			size[i] += v / sigma * v / sigma
		}
	}
	for len(places) < most {
		top := 0
		for i, v := range size {
			if v > size[top] {
				top = i
			}
		}
		if size[top] < significant*significant {
			break
		}
		places = append(places, p.from+float64(top)+0.5)
		for i := max(top-1, 0); i <= min(top+1, n-1); i++ {
			size[i] = 0
		}
	}
	return places
}

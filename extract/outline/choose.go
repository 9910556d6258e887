package outline

import (
	"math"
	"slices"
)

// A chooser changes the edges of a fitted model as far as the evidence asks for it.
type chooser struct {
	l     *likelihood
	m     Measures
	o     Options
	sigma float64 // at which models are compared
}

// A change is another model that differs in a few edges.
type change struct {
	model *model
	// touched are the edges of model, in the order of spans, whose offsets are to be fitted anew, with the directions that only they have.
	touched []int
	// box holds all that differs.
	box [4]float64
	// price is what the log-likelihood must gain for the change to be taken; below 0 for one that drops parameters.
	price float64
	// lost is the number of observations, beyond the reach of noise, that a removal gives up.
	lost float64
}

// floorSigma is the noise of the last fit: below half a point's share of the mean edge the likelihood turns into steps that no
// climb can follow, and a wider kernel costs under 5 %.
func floorSigma(m *model, l *likelihood, me Measures) float64 {
	l.outer = m.spans(0, l.outer)
	mean := max(perimeter(l.outer)/float64(len(l.outer)), me.Spacing)
	return max(me.Sigma, 0.5*me.Spacing*me.Spacing/mean)
}

func perimeter(spans []span) float64 {
	length := 0.0
	for i := range spans {
		length += math.Abs(spans[i].length())
	}
	return length
}

// logNear is ln n of the information criterion, n the observations within about two spacings of the outline.
func (c *chooser) logNear(spans []span) float64 {
	return math.Log(max(4*perimeter(spans)/c.m.Spacing, math.E))
}

// jogPrice is what a jog must raise the log-likelihood by: Schwarz's half ln n for each of its two parameters, and ln(L/s) because
// its place could have been any of L/s.
func (c *chooser) jogPrice(spans []span, length float64) float64 {
	return c.logNear(spans) + math.Log(max(length/c.m.Spacing, 1))
}

// cost is the whole price of a model, by which models with nothing in common are compared.
func (c *chooser) cost(m *model) float64 {
	spans := m.spans(0, nil)
	edge := 0.5*c.logNear(spans) + 0.5*math.Log(max(perimeter(spans)/(4*c.m.Spacing), 1))
	return edge*float64(len(spans)) + 0.5*c.logNear(spans)*float64(len(m.theta))
}

// gain fits what a change touches and returns by how much it raises the log-likelihood, less its price.
func (c *chooser) gain(before *model, ch *change) float64 {
	w := c.l.around(ch.box[0], ch.box[1], ch.box[2], ch.box[3], reach*c.sigma+c.m.Beam+c.m.Spacing)
	old := c.l.at(before, c.sigma, w, nil)
	for sigma := max(c.sigma, c.m.Spacing/2); ; sigma = max(sigma/2, c.sigma) {
		value := c.l.run(ch.model, climb{
			sigma: sigma, cap: c.m.Spacing, tolerance: 0.05 * sigma, rounds: 6, free: ch.free(), over: w,
		})
		if sigma == c.sigma {
			return value - old - ch.price
		}
	}
}

// free marks the parameters that a change may move: offsets of touched edges, and directions that no other edge has.
func (ch *change) free() []bool {
	m := ch.model
	free := make([]bool, m.parameters())
	for g := range m.theta {
		free[g] = true
	}
	at := 0
	for _, ring := range m.rings {
		for _, e := range ring {
			if slices.Contains(ch.touched, at) {
				free[len(m.theta)+at] = true
			} else {
				free[e.family] = false
			}
			at++
		}
	}
	return free
}

// boxOf is the box of some spans.
func boxOf(spans []span, list ...int) [4]float64 {
	b := [4]float64{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)}
	for _, i := range list {
		s := &spans[i]
		b[0], b[1] = min(b[0], s.ax, s.bx), min(b[1], s.ay, s.by)
		b[2], b[3] = max(b[2], s.ax, s.bx), max(b[3], s.ay, s.by)
	}
	return b
}

// flat is the place of an edge in the order of spans.
func (m *model) flat(ring, index int) int {
	n := index
	for r := 0; r < ring; r++ {
		n += len(m.rings[r])
	}
	return n
}

// simplify takes away, one after the other and the least wanted first, the edges that are smaller than the user wants or that the
// observations do not ask for.
func (c *chooser) simplify(m *model) *model {
	for range 4 * m.edgeCount() {
		next := c.removeOne(m)
		if next == nil {
			return m
		}
		m = next
	}
	return m
}

// removeOne returns the model without its least wanted edge, or nil when all are wanted.
func (c *chooser) removeOne(m *model) *model {
	spans := m.spans(0, nil)
	var best *model
	most := 0.0
	for i := range spans {
		for _, ch := range c.removals(m, spans, i) {
			forced := spans[i].length() < c.o.MinJog
			if !forced && ch.lost > obvious {
				continue
			}
			gain := c.gain(m, ch)
			if math.IsInf(gain, -1) || math.IsNaN(gain) || !ch.model.sound() {
				continue
			}
			if forced {
				gain += 1e6 // the user's rule, the least harmful first
			}
			if gain > most {
				best, most = ch.model, gain
			}
		}
	}
	return best
}

// obvious is how many observations a removal may give up before it is not worth a trial: each costs ln of the label floor, about 5, and
// half of them are won back by moving other edges. The highest price is about 30.
const obvious = 30

// beyond is the number of observations in an area of a given length, less a strip for the noise along that length.
func (c *chooser) beyond(area, length float64) float64 {
	return max(area-length*(3*c.sigma+2*c.m.Beam), 0) / (c.m.Spacing * c.m.Spacing)
}

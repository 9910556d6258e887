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
	// known are the gains of removals and refused the additions that were tried and not taken, for as long as the edges that they are
	// about stay what they are.
	known   map[key]float64
	refused map[key]bool
	ids     int
	// mask is the room for windows, and marked the last of them.
	mask   []bool
	marked window
}

// The kinds of change.
const (
	joinJog = iota
	dropChord
	joinBend
	straightenStep
	turnEdge
	tieDirections
	insertJog
	slantEdge // and three more, one for each slant
)

// A key names a change by its kind and the edges that it is about.
type key struct {
	kind  int
	edges [5]int
}

func keyOf(m *model, old []int, kind int) key {
	k := key{kind: kind}
	at := 0
	for _, r := range m.rings {
		for _, e := range r {
			for i, o := range old {
				if o == at && i < len(k.edges) {
					k.edges[i] = e.id
				}
			}
			at++
		}
	}
	return k
}

// take makes a change's model the one at hand: what it touched is new.
func (c *chooser) take(ch *change) *model {
	at := 0
	for _, r := range ch.model.rings {
		for i := range r {
			if slices.Contains(ch.touched, at) || r[i].id == 0 {
				c.ids++
				r[i].id = c.ids
			}
			at++
		}
	}
	return ch.model
}

// name gives ids to edges that have none.
func (c *chooser) name(m *model) *model {
	m = m.clone()
	return c.take(&change{model: m})
}

// A change is another model that differs in a few edges.
type change struct {
	kind  int
	model *model
	// touched are the edges of model, in the order of spans, whose offsets are to be fitted anew, with the directions that only they have.
	touched []int
	// old are the edges of the model before that the change is about.
	old []int
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
	return c.logNear(spans) + math.Log(max(length/c.m.Spacing, 1)) + c.doubt()
}

// doubt is what is asked for on top where labels are worse than the options say: two wrong labels in the right place can look like evidence
// worth the logarithm of the label floor each.
func (c *chooser) doubt() float64 {
	return 2 * math.Log(1/c.l.mislabel) * (1 - min(c.o.Mislabel/c.l.mislabel, 1))
}

// cost is the whole price of a model, by which models with nothing in common are compared.
func (c *chooser) cost(m *model) float64 {
	spans := m.spans(0, nil)
	edge := 0.5*c.logNear(spans) + 0.5*math.Log(max(perimeter(spans)/(4*c.m.Spacing), 1))
	return edge*float64(len(spans)) + 0.5*c.logNear(spans)*float64(len(m.theta))
}

// gain fits what a change touches and returns by how much it raises the log-likelihood, less its price.
func (c *chooser) gain(before *model, ch *change) float64 {
	first := max(c.sigma, c.m.Spacing/2)
	w := c.around(before, ch, reach*first+2*c.m.Beam+c.m.Spacing)
	old := c.l.at(before, c.sigma, w, nil)
	for sigma := first; ; sigma = max(sigma/3, c.sigma) {
		rounds := 3
		if sigma == c.sigma {
			rounds = 8
		}
		value := c.l.run(ch.model, climb{
			sigma: sigma, cap: c.m.Spacing, tolerance: 0.1 * sigma, rounds: rounds, free: ch.free(), over: w,
		})
		if sigma == c.sigma {
			return value - old - ch.price + c.voids(before, ch)
		}
	}
}

// voidEvidence is the share of its weight that a place without any observation keeps when a removal is judged. Were observations strewn at
// random, a strip of roof that shows none would speak against being roof with a nat for each that is missing. Their patterns have gaps,
// though, and what hides a corner of a roof hides the ground there as well.
const voidEvidence = 0.25

// voids is what a removal gets back of what it pays for taking in places without observations.
func (c *chooser) voids(before *model, ch *change) float64 {
	if ch.price > 0 || ch.kind == tieDirections {
		return 0
	}
	return (1 - voidEvidence) * max(before.pulled()-ch.model.pulled(), 0)
}

// pulled is the part of the log-likelihood that pulls make.
func (m *model) pulled() float64 {
	sum := 0.0
	for _, s := range m.spans(0, nil) {
		if s.pull != 0 {
			sum -= s.pull * s.inward(s.px, s.py)
		}
	}
	return sum
}

// around is the window of the cells within margin of what a change touches, before and after. It holds until the next is asked for.
func (c *chooser) around(before *model, ch *change, margin float64) window {
	if c.mask == nil {
		c.mask = make([]bool, c.l.rows*c.l.cols)
	}
	for row := c.marked.r0; row < c.marked.r1; row++ {
		clear(c.mask[row*c.l.cols+c.marked.c0 : row*c.l.cols+c.marked.c1])
	}
	w := window{mask: c.mask, r0: c.l.rows, c0: c.l.cols}
	mark := func(spans []span, list []int) {
		for _, i := range list {
			s := &spans[i]
			c.l.eachCell(s, margin+0.7072*c.l.cell, c.l.all(), func(k int) {
				w.mask[k] = true
				row, col := k/c.l.cols, k%c.l.cols
				w.r0, w.r1, w.c0, w.c1 = min(w.r0, row), max(w.r1, row+1), min(w.c0, col), max(w.c1, col+1)
			})
		}
	}
	mark(before.spans(0, nil), ch.old)
	mark(ch.model.spans(0, nil), ch.touched)
	if w.r0 >= w.r1 {
		w = window{}
	}
	c.marked = w
	return w
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

// removeOne returns the model without its least wanted edge, or nil when all are wanted. Gains of changes that nothing has touched since
// they were worked out are taken as they were.
func (c *chooser) removeOne(m *model) *model {
	spans := m.spans(0, nil)
	var best *change
	most := 0.0
	for i := range spans {
		forced := spans[i].length() < c.o.MinJog
		for _, ch := range c.removals(m, spans, i) {
			if !forced && ch.lost > obvious {
				continue
			}
			k := keyOf(m, ch.old, ch.kind)
			gain, known := c.known[k]
			if !known {
				gain = c.gain(m, ch)
				if math.IsNaN(gain) || !ch.model.sound() {
					gain = math.Inf(-1)
				}
				c.known[k] = gain
			}
			if forced && !math.IsInf(gain, -1) {
				gain += 1e6 // the user's rule, the least harmful first
			}
			if gain > most {
				best, most = ch, gain
			}
		}
	}
	if best == nil {
		return nil
	}
	c.gain(m, best)
	if !best.model.sound() {
		c.known[keyOf(m, best.old, best.kind)] = math.Inf(-1)
		return m
	}
	return c.take(best)
}

// obvious is how many observations a removal may give up before it is not worth a trial: each costs ln of the label floor, about 5, and
// half of them are won back by moving other edges. The highest price is about 30.
const obvious = 30

// beyond is the number of observations in an area of a given length, less a strip for the noise along that length.
func (c *chooser) beyond(area, length float64) float64 {
	return max(area-length*(3*c.sigma+2*c.m.Beam), 0) / (c.m.Spacing * c.m.Spacing)
}

package outline

import "math"

// A chooser simplifies a fitted model as far as the evidence allows.
type chooser struct {
	l     *likelihood
	m     Measures
	o     Options
	sigma float64 // at which models are compared
}

// floorSigma is the noise of the last fit: below half a point's share of the mean edge the likelihood turns into steps that no
// climb can follow, and a wider kernel costs under 5 %.
func floorSigma(m *model, l *likelihood, me Measures) float64 {
	l.outer = m.spans(0, l.outer)
	sum := 0.0
	for i := range l.outer {
		sum += math.Abs(l.outer[i].length())
	}
	mean := max(sum/float64(len(l.outer)), me.Spacing)
	return max(me.Sigma, 0.5*me.Spacing*me.Spacing/mean)
}

// nearCount is the number of observations within about two spacings of the outline: what an information criterion calls n.
func (c *chooser) nearCount(spans []span) float64 {
	length := 0.0
	for i := range spans {
		length += math.Abs(spans[i].length())
	}
	return max(4*length/c.m.Spacing, math.E)
}

// jogPenalty is what a jog must raise the log-likelihood by: Schwarz's half ln n for each of its two parameters, and ln(L/s) because
// its place could have been any of L/s.
func (c *chooser) jogPenalty(spans []span, length float64) float64 {
	return math.Log(c.nearCount(spans)) + math.Log(max(length/c.m.Spacing, 1))
}

// simplify removes, one after the other and the least wanted first, the jogs that are smaller than the user wants or that the
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

// removeOne returns the model without its least wanted jog, or nil when all are wanted.
func (c *chooser) removeOne(m *model) *model {
	spans := m.spans(0, nil)
	var best *model
	least := 0.0
	for i := range spans {
		s := &spans[i]
		if !c.mergeable(m, spans, s) {
			continue
		}
		merged := mergeAt(m, spans, i)
		if merged == nil {
			continue
		}
		length := spans[s.prev].length() + spans[s.next].length()
		want := math.Inf(-1)
		if s.length() >= c.o.MinJog {
			if c.obvious(s, &spans[s.prev], &spans[s.next]) {
				continue
			}
			want = -c.jogPenalty(spans, length)
		}
		before, after := c.compare(m, merged, spans, i)
		if want += before - after; want < least || best == nil && want <= 0 {
			best, least = merged, want
		}
	}
	return best
}

// mergeable tells whether the neighbours of an edge run the same way, so that it is a jog between them.
func (c *chooser) mergeable(m *model, spans []span, s *span) bool {
	ring := m.rings[s.ring]
	n := len(ring)
	p, q := ring[(s.index+n-1)%n], ring[(s.index+1)%n]
	return n > 4 && p.family == q.family && p.quarter == q.quarter
}

// obvious tells without a fit that a jog is wanted: the points between its two lines, beyond the noise, are too many to give up.
func (c *chooser) obvious(jog, p, q *span) bool {
	depth := jog.length() - 3*c.sigma - 2*c.m.Beam
	lost := depth * min(p.length(), q.length()) / 2 / (c.m.Spacing * c.m.Spacing)
	return lost > 30
}

// mergeAt joins the neighbours of edge i into one at their mean line, weighted by length. It returns nil when the result is not a
// polygon whose edges all run forwards.
func mergeAt(m *model, spans []span, i int) *model {
	s := &spans[i]
	p, q := &spans[s.prev], &spans[s.next]
	merged := m.clone()
	ring := merged.rings[s.ring]
	n := len(ring)
	joined := ring[(s.index+n-1)%n]
	wp, wq := max(p.length(), 1e-6), max(q.length(), 1e-6)
	joined.offset = (p.d*wp + q.d*wq) / (wp + wq)
	joined.pull += ring[(s.index+1)%n].pull
	joined.pullX, joined.pullY = (p.px*wp+q.px*wq)/(wp+wq), (p.py*wp+q.py*wq)/(wp+wq)
	kept := []edge{joined}
	for k := 2; k <= n-2; k++ {
		kept = append(kept, ring[(s.index+k)%n])
	}
	merged.rings[s.ring] = kept
	return merged
}

// compare fits what a change touches and gives the log-likelihood of both models over the cells around it. The changed edge is the
// first of its ring in after.
func (c *chooser) compare(before, after *model, spans []span, i int) (float64, float64) {
	s := &spans[i]
	x0, y0, x1, y1 := math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)
	for _, k := range []int{s.prev, i, s.next, spans[s.prev].prev, spans[s.next].next} {
		x0, y0 = min(x0, spans[k].ax, spans[k].bx), min(y0, spans[k].ay, spans[k].by)
		x1, y1 = max(x1, spans[k].ax, spans[k].bx), max(y1, spans[k].ay, spans[k].by)
	}
	w := c.l.around(x0, y0, x1, y1, reach*c.sigma+c.m.Beam+c.m.Spacing)
	free := make([]bool, after.parameters())
	base := len(after.theta)
	for r := 0; r < s.ring; r++ {
		base += len(after.rings[r])
	}
	n := len(after.rings[s.ring])
	free[base], free[base+1%n], free[base+n-1] = true, true, true
	climb := climb{sigma: c.sigma, cap: c.m.Spacing, tolerance: 0.05 * c.sigma, rounds: 8, free: free, over: w}
	return c.l.at(before, c.sigma, w, nil), c.l.run(after, climb)
}

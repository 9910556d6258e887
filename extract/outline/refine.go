package outline

import (
	"math"
	"slices"
)

// refine adds what the observations ask for, the most wanted first: a direction of its own for a wall that is not square, a step, bay
// or notch in a wall. It returns m itself when nothing is asked for.
func (c *chooser) refine(m *model) *model {
	for range 16 + m.edgeCount() {
		var best *change
		most := 0.0
		for _, ch := range slices.Concat(c.turns(m), c.slants(m), c.ties(m), c.jogs(m)) {
			k := keyOf(m, ch.old, ch.kind)
			if c.refused[k] {
				continue
			}
			gain := c.gain(m, ch)
			if !(gain > 0) || !ch.model.sound() || !c.wanted(ch) {
				c.refused[k] = true
			} else if gain > most {
				best, most = ch, gain
			}
		}
		if best == nil || best.model.edgeCount() > c.o.MaxEdges {
			return m
		}
		m = c.take(best)
	}
	return m
}

// wanted tells whether no edge that a change touched is shorter than the user wants.
func (c *chooser) wanted(ch *change) bool {
	spans := ch.model.spans(0, nil)
	for _, i := range ch.touched {
		if spans[i].length() < c.o.MinJog {
			return false
		}
	}
	return true
}

// turns proposes a direction of its own for each edge of a shared one whose likelihood rises when the edge turns about its middle: the
// score of the slope, with the offset eliminated, promises at least the price. A direction that another edge already has is proposed
// as well.
func (c *chooser) turns(m *model) []*change {
	own, used := m.clone(), make([]int, len(m.theta))
	own.theta = nil
	for _, r := range own.rings {
		for i := range r {
			used[r[i].family]++
			own.theta = append(own.theta, m.theta[r[i].family])
			r[i].family = len(own.theta) - 1
		}
	}
	var e evaluation
	c.l.at(own, c.sigma, c.l.all(), &e)
	spans := m.spans(0, nil)
	k := len(spans)
	price := 0.5*c.logNear(spans) + 3 + c.doubt()
	var list []*change
	for i := range spans {
		s := &spans[i]
		if used[s.family] < 2 || s.length() < max(6*c.m.Spacing, c.o.MinJog) {
			continue
		}
		id, it, x := e.info[(k+i)*2*k+k+i], e.info[i*2*k+i], e.info[i*2*k+k+i]
		if !(id > 0) {
			continue
		}
		slope, info := e.gradient[i]-x/id*e.gradient[k+i], it-x*x/id
		if !(info > 0) || slope*slope/(2*info) < price {
			continue
		}
		turned := m.clone()
		turned.theta = append(turned.theta, m.theta[s.family]+slope/info)
		edge := &turned.rings[s.ring][s.index]
		edge.family = len(turned.theta) - 1
		edge.offset += s.middleShift(slope / info)
		turned.dropUnused()
		list = append(list, &change{
			kind: turnEdge, model: turned, touched: []int{s.prev, i, s.next}, price: price, old: []int{s.prev, i, s.next},
		})
	}
	return list
}

// slants proposes for each short edge between two that run the same way, as a jog does, to be slanted: the sides of a bay window and chamfers are
// too far from the square for the slope of a right-angled edge to show it.
func (c *chooser) slants(m *model) []*change {
	spans := m.spans(0, nil)
	price := 0.5*c.logNear(spans) + 3 + c.doubt()
	var list []*change
	for i := range spans {
		s := &spans[i]
		p, q := &spans[s.prev], &spans[s.next]
		if s.length() > max(longestSlant, 8*c.m.Spacing) || p.nx*q.nx+p.ny*q.ny < 0.95 {
			continue
		}
		for k, angle := range [...]float64{-0.7, -0.35, 0.35, 0.7} {
			slanted := m.clone()
			edge := &slanted.rings[s.ring][s.index]
			edge.family, edge.pull = len(slanted.theta), 0
			slanted.theta = append(slanted.theta, m.theta[s.family]+angle)
			edge.offset += s.middleShift(angle)
			slanted.dropUnused()
			if !slanted.forward(s.ring) {
				continue
			}
			list = append(list, &change{
				kind: slantEdge + k, model: slanted, touched: []int{s.prev, i, s.next}, price: price, old: []int{s.prev, i, s.next},
			})
		}
	}
	return list
}

// longestSlant is the length, in metres, up to which an edge is tried at a slant.
const longestSlant = 2.5

// middleShift is the change of offset that keeps the middle of an edge where it is while its normal turns by a small angle.
func (s *span) middleShift(angle float64) float64 {
	mx, my := (s.ax+s.bx)/2, (s.ay+s.by)/2
	sin, cos := math.Sincos(angle)
	nx, ny := cos*s.nx-sin*s.ny, sin*s.nx+cos*s.ny
	return nx*mx + ny*my - s.d
}

// ties proposes one direction for two that are nearly the same, or nearly at right angles.
func (c *chooser) ties(m *model) []*change {
	spans := m.spans(0, nil)
	longest := make([]float64, len(m.theta))
	for i := range spans {
		longest[spans[i].family] = max(longest[spans[i].family], spans[i].length())
	}
	var list []*change
	for g := range m.theta {
		for h := g + 1; h < len(m.theta); h++ {
			off := math.Remainder(m.theta[h]-m.theta[g], math.Pi/2)
			lateral := math.Abs(off) * min(longest[g], longest[h])
			if lateral > max(c.o.MinSkew, 2*c.m.Spacing) {
				continue
			}
			ch := tie(m, spans, g, h, off, longest)
			ch.price = -0.5*c.logNear(spans) - 3 - c.doubt()
			if lateral < c.o.MinSkew {
				ch.price = -1e6 // the user's rule
			}
			list = append(list, ch)
		}
	}
	return list
}

// tie turns every edge of direction h, about its middle, into that of g, at their mean weighted by the cube of the longest edge.
func tie(m *model, spans []span, g, h int, off float64, longest []float64) *change {
	tied := m.clone()
	wg, wh := math.Pow(longest[g], 3), math.Pow(longest[h], 3)
	turnG, turnH := off*wh/(wg+wh), -off*wg/(wg+wh)
	quarters := int(math.Round((m.theta[h]-m.theta[g]-off)/(math.Pi/2))) + 8
	ch := &change{kind: tieDirections, model: tied}
	near := map[int]bool{}
	for i := range spans {
		s := &spans[i]
		e := &tied.rings[s.ring][s.index]
		switch s.family {
		case g:
			e.offset += s.middleShift(turnG)
		case h:
			e.offset += s.middleShift(turnH)
			e.family, e.quarter = g, (e.quarter+quarters)&3
		default:
			continue
		}
		near[s.prev], near[i], near[s.next] = true, true, true
	}
	tied.theta[g] += turnG
	tied.dropUnused()
	var touched []int
	for i := range spans {
		if near[i] {
			touched = append(touched, i)
		}
	}
	ch.touched, ch.old = touched, touched
	return ch
}

// jogs proposes for each edge the stretch that wants most to move away from the rest of it.
func (c *chooser) jogs(m *model) []*change {
	spans := m.spans(0, nil)
	var list []*change
	for i := range spans {
		s := &spans[i]
		if s.length() < max(4*c.m.Spacing, 2*c.o.MinJog) {
			continue
		}
		sigma := max(c.sigma, c.m.Spacing/2)
		from, to, shift, rise := c.l.stretch(s, sigma, c.m.Spacing)
		price := c.jogPrice(spans, s.length())
		if rise < 0.7*price || math.Abs(shift) < 0.25*c.o.MinJog {
			continue
		}
		if ch := c.insert(m, spans, i, from, to, shift); ch != nil {
			list = append(list, ch)
		}
	}
	return list
}

// stretch finds the part of an edge, in whole pieces of about a spacing, whose score differs most from zero, with the shift outward
// that its information asks for and the rise of the log-likelihood that this promises.
func (l *likelihood) stretch(s *span, sigma, spacing float64) (from, to, shift, rise float64) {
	n := min(max(int(s.length()/spacing), 2), 96)
	score, info := l.scores(s, sigma, n)
	width := s.length() / float64(n)
	for a := range n {
		g, w := 0.0, 0.0
		for b := a; b < n; b++ {
			g, w = g+score[b], w+info[b]
			if b-a == n-1 || w <= 0 {
				continue
			}
			if r := g * g / (2 * w); r > rise {
				rise, shift = r, g/w
				from, to = s.ta+float64(a)*width, s.ta+float64(b+1)*width
			}
		}
	}
	return from, to, shift, rise
}

// scores are the derivative of the log-likelihood by the offset, and its information, of each of n pieces of an edge, from the points
// that no other edge is as near to.
func (l *likelihood) scores(s *span, sigma float64, n int) (score, info []float64) {
	score, info = make([]float64, n), make([]float64, n)
	beam := l.outward(s.nx, s.ny)
	depth := 3*sigma + beam
	w := l.around(min(s.ax, s.bx), min(s.ay, s.by), max(s.ax, s.bx), max(s.ay, s.by), depth)
	scale := float64(n) / s.length()
	for row := w.r0; row < w.r1; row++ {
		for col := w.c0; col < w.c1; col++ {
			c := row*l.cols + col
			x, y := l.x0+(float64(col)+0.5)*l.cell, l.y0+(float64(row)+0.5)*l.cell
			if math.Abs(s.inward(x, y)) > depth+l.cell {
				continue
			}
			for p := l.start[c]; p < l.start[c+1]; p++ {
				h, t := s.inward(l.x[p], l.y[p]), s.along(l.x[p], l.y[p])
				margin := min(math.Abs(h), s.length()/4)
				if math.Abs(h) < depth && t > s.ta+margin && t < s.tb-margin {
					g, i := l.edgeScore(l.side[p], h, sigma, beam)
					k := min(int((t-s.ta)*scale), n-1)
					score[k] += g
					info[k] += i
				}
			}
		}
	}
	return score, info
}

// edgeScore is the score and information of one observation at distance h inside a lone edge.
func (l *likelihood) edgeScore(side Side, h, sigma, beam float64) (score, info float64) {
	minus, plus := (h-beam)/sigma, (h+beam)/sigma
	if l.merged {
		minus = plus
	}
	k := l.classes()
	if side == Unknown || side == Split && k == 2 && !l.merged {
		return 0, 0
	}
	scale := 1 - k*l.mislabel
	in, out := cumulative(minus), cumulative(plus)
	p := [3]float64{l.mislabel + scale*in, l.mislabel + scale*max(out-in, 0), l.mislabel + scale*(1-out)}
	dm, dp := scale*density(minus)/sigma, scale*density(plus)/sigma
	d := [3]float64{dm, dp - dm, -dp}
	if l.merged && side == Split {
		side = Inside
	}
	info = d[Inside]*d[Inside]/p[Inside] + d[Outside]*d[Outside]/p[Outside]
	if k == 3 {
		info += d[Split] * d[Split] / p[Split]
	}
	return d[side] / p[side], info
}

// insert proposes edge i with the stretch between two coordinates moved outward by shift: a step when the stretch reaches an end of the
// edge, else a bay or notch.
func (c *chooser) insert(m *model, spans []span, i int, from, to, shift float64) *change {
	s := &spans[i]
	whole := m.rings[s.ring][s.index]
	out, back := whole, whole // across, outward first and then inward when shift is positive
	out.quarter, back.quarter = (whole.quarter+3)&3, (whole.quarter+1)&3
	if shift < 0 {
		out.quarter, back.quarter = back.quarter, out.quarter
	}
	cross := func(e edge, t float64) edge {
		x, y := s.place(t, 0)
		nx, ny := normal(m.theta[e.family], e.quarter)
		e.offset, e.pull = nx*x+ny*y, 0
		return e
	}
	moved := whole
	moved.offset += shift
	var pieces []edge
	width := s.length() / 100
	first, last := from <= s.ta+width, to >= s.tb-width
	switch {
	case first && last:
		return nil
	case first:
		pieces = []edge{moved, cross(back, to), whole}
	case last:
		pieces = []edge{whole, cross(out, from), moved}
	default:
		pieces = []edge{whole, cross(out, from), moved, cross(back, to), whole}
	}
	c.sharePull(pieces, whole)
	changed := m.clone()
	ring := m.rings[s.ring]
	changed.rings[s.ring] = append(append(append([]edge(nil), ring[:s.index]...), pieces...), ring[s.index+1:]...)
	if !changed.forward(s.ring) {
		return nil
	}
	base, n := changed.flat(s.ring, 0), len(changed.rings[s.ring])
	ch := &change{kind: insertJog, model: changed, old: []int{s.prev, i, s.next}}
	for k := -1; k <= len(pieces); k++ {
		ch.touched = append(ch.touched, base+(s.index+k+n)%n)
	}
	ch.price = c.jogPrice(spans, s.length()) * float64(len(pieces)-1) / 2
	return ch
}

// sharePull spreads the pull of an edge over the pieces of it that run its way; jogs get none.
func (c *chooser) sharePull(pieces []edge, whole edge) {
	n := float64(len(pieces)/2 + 1)
	for k := range pieces {
		if k%2 == 0 {
			pieces[k].pull = whole.pull / n
		}
	}
}

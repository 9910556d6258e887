package outline

import "math"

// removals are the ways to do without edge i.
func (c *chooser) removals(m *model, spans []span, i int) []*change {
	s := &spans[i]
	ring := m.rings[s.ring]
	n := len(ring)
	p, q := ring[(s.index+n-1)%n], ring[(s.index+1)%n]
	if p.family == q.family && p.quarter == q.quarter {
		if n <= 4 {
			return nil
		}
		return append(present(c.joinNeighbours(m, spans, i)), present(c.straighten(m, spans, i))...)
	}
	if n <= 3 {
		return nil
	}
	list := append(present(c.dropEdge(m, spans, i)), present(c.unbend(m, spans, i))...)
	if n > 4 {
		list = append(list, present(c.straighten(m, spans, i))...)
	}
	return list
}

func present(ch *change) []*change {
	if ch == nil {
		return nil
	}
	return []*change{ch}
}

// joinNeighbours takes a jog away: its neighbours, of one direction, become one edge at their mean line weighted by length.
func (c *chooser) joinNeighbours(m *model, spans []span, i int) *change {
	s := &spans[i]
	p, q := &spans[s.prev], &spans[s.next]
	merged := m.clone()
	ring := merged.rings[s.ring]
	n := len(ring)
	joined := ring[(s.index+n-1)%n]
	wp, wq := max(p.length(), 1e-6), max(q.length(), 1e-6)
	joined.offset = (p.d*wp + q.d*wq) / (wp + wq)
	joined.addPull(ring[(s.index+1)%n])
	kept := append([]edge{joined}, turned(ring, s.index+2, n-3)...)
	merged.rings[s.ring] = kept
	merged.dropUnused()
	if !merged.forward(s.ring) {
		return nil
	}
	base := merged.flat(s.ring, 0)
	price := -c.jogPrice(spans, p.length()+q.length())
	shorter := min(p.length(), q.length())
	return &change{
		kind: joinJog, lost: c.beyond(s.length()*shorter/2, shorter), model: merged, touched: []int{base, base + 1, base + len(kept) - 1}, price: price,
		old: []int{s.prev, i, s.next, p.prev, q.next},
	}
}

// dropEdge takes a chamfer or a chord away: its neighbours are carried on until they meet.
func (c *chooser) dropEdge(m *model, spans []span, i int) *change {
	s := &spans[i]
	p, q := &spans[s.prev], &spans[s.next]
	if turn := p.nx*q.ny - p.ny*q.nx; math.Abs(turn) < 0.17 {
		return nil // they would meet far away, if at all
	}
	dropped := m.clone()
	n := len(dropped.rings[s.ring])
	dropped.rings[s.ring] = turned(dropped.rings[s.ring], s.index+1, n-1)
	before := len(m.theta)
	dropped.dropUnused()
	if !dropped.forward(s.ring) {
		return nil
	}
	base := dropped.flat(s.ring, 0)
	price := -0.5*c.jogPrice(spans, s.length()) - 0.5*c.logNear(spans)*float64(before-len(dropped.theta))
	cornerArea := math.Abs((p.nx*s.ny-p.ny*s.nx)*(s.nx*q.ny-s.ny*q.nx)/(p.nx*q.ny-p.ny*q.nx)) * s.length() * s.length() / 2
	return &change{kind: dropChord, lost: c.beyond(cornerArea/2, s.length()), model: dropped, touched: []int{base, base + n - 2}, price: price, old: []int{s.prev, i, s.next}}
}

// unbend joins an edge with the next where they meet at a flat angle: one edge of a direction of its own along both.
func (c *chooser) unbend(m *model, spans []span, i int) *change {
	s := &spans[i]
	q := &spans[s.next]
	if s.nx*q.nx+s.ny*q.ny < 0.7 || s.ring != q.ring {
		return nil
	}
	joined := m.clone()
	ring := joined.rings[s.ring]
	n := len(ring)
	chord := segment(s.ax, s.ay, q.bx, q.by)
	one := edge{family: len(m.theta), offset: chord.d}
	joined.theta = append(joined.theta, math.Atan2(chord.ny, chord.nx))
	one.pull, one.pullX, one.pullY = ring[s.index].pull, ring[s.index].pullX, ring[s.index].pullY
	one.addPull(ring[(s.index+1)%n])
	joined.rings[s.ring] = append([]edge{one}, turned(ring, s.index+2, n-2)...)
	joined.dropUnused()
	if !joined.forward(s.ring) {
		return nil
	}
	base := joined.flat(s.ring, 0)
	price := -0.5*c.jogPrice(spans, s.length()+q.length()) - 0.5*c.logNear(spans)*float64(len(m.theta)-len(joined.theta))
	area := math.Abs(s.nx*q.ny-s.ny*q.nx) * s.length() * q.length() / 2
	return &change{
		kind: joinBend, lost: c.beyond(area/3, chord.length()), model: joined, touched: []int{base, base + 1, base + n - 2}, price: price,
		old: []int{s.prev, i, s.next, q.next},
	}
}

// straighten takes a short edge between two of nearly one direction for what the raster makes of a wall that is not square: the three
// become one, through the middles of the outer two, with a direction of its own.
func (c *chooser) straighten(m *model, spans []span, i int) *change {
	s := &spans[i]
	p, q := &spans[s.prev], &spans[s.next]
	if p.nx*q.nx+p.ny*q.ny < 0.8 || s.length() > p.length()+q.length() {
		return nil
	}
	chord := segment((p.ax+p.bx)/2, (p.ay+p.by)/2, (q.ax+q.bx)/2, (q.ay+q.by)/2)
	joined := m.clone()
	ring := m.rings[s.ring]
	n := len(ring)
	one := ring[(s.index+n-1)%n]
	one.addPull(ring[(s.index+1)%n])
	one.family, one.quarter, one.offset = len(m.theta), 0, chord.d
	joined.theta = append(joined.theta, math.Atan2(chord.ny, chord.nx))
	joined.rings[s.ring] = append([]edge{one}, turned(ring, s.index+2, n-3)...)
	joined.dropUnused()
	if !joined.forward(s.ring) {
		return nil
	}
	base := joined.flat(s.ring, 0)
	lost := 0.0
	if length := p.length() + q.length(); s.length() > 0.15*length {
		lost = c.beyond(s.length()*length/16, length)
	}
	return &change{
		kind: straightenStep, model: joined, touched: []int{base, base + 1, base + n - 3}, lost: lost,
		price: -c.jogPrice(spans, p.length()+q.length()) + 0.5*c.logNear(spans)*float64(len(joined.theta)-len(m.theta)),
		old:   []int{s.prev, i, s.next, p.prev, q.next},
	}
}

// turned lists count edges of a ring from one on, around the end.
func turned(ring []edge, from, count int) []edge {
	list := make([]edge, count)
	for k := range list {
		list[k] = ring[(from+k)%len(ring)]
	}
	return list
}

// addPull adds another edge's pull to that of e; the sum acts at the mean of both places, weighted by the pulls.
func (e *edge) addPull(other edge) {
	we, wo := math.Abs(e.pull), math.Abs(other.pull)
	if we+wo > 0 {
		e.pullX, e.pullY = (e.pullX*we+other.pullX*wo)/(we+wo), (e.pullY*we+other.pullY*wo)/(we+wo)
	}
	e.pull += other.pull
}

// dropUnused removes directions that no edge has.
func (m *model) dropUnused() {
	used := make([]int, len(m.theta))
	for _, r := range m.rings {
		for _, e := range r {
			used[e.family]++
		}
	}
	kept, index := m.theta[:0:0], make([]int, len(m.theta))
	for g, n := range used {
		index[g] = len(kept)
		if n > 0 {
			kept = append(kept, m.theta[g])
		}
	}
	m.theta = kept
	for _, r := range m.rings {
		for i := range r {
			r[i].family = index[r[i].family]
		}
	}
}

// forward tells whether all edges of a ring run forwards and are finite.
func (m *model) forward(ring int) bool {
	one := &model{theta: m.theta, rings: m.rings[ring : ring+1]}
	for _, s := range one.spans(0, nil) {
		if l := s.length(); !(l > 0) || math.IsInf(l, 0) {
			return false
		}
	}
	return true
}

package outline

import (
	"math"
	"slices"
)

// A likelihood evaluates models against a field of observations. It owns scratch space, so it serves one goroutine.
type likelihood struct {
	*field
	normal *normalTable
	beam   float64 // the largest half-width in any direction
	// how far the polygons of the beam's borders lie outside, by an edge's normal
	inward, outward func(nx, ny float64) float64
	merged          bool // split pulses are among the inside ones
	mislabel        float64
	sigma           float64

	inner, outer []span    // the polygon shrunk and grown by the beam
	head         []int32   // first link of each cell, -1 for none
	links        []link    // edges near each cell
	touched      []int32   // cells with links
	rowEdges     [][]int32 // edges that cross each row of cells
	near         []int32   // edges of the cell at hand
	minus, plus  []slope   // gradients of the shrunk and the grown polygon at the point at hand
	terms        []term
	reached      []reached
	wide         evaluation // of the wider noise in a climb

	settled            [2]float64 // logs of the probability of the wrong and the right side where no edge is near
	weigh              bool       // leave far points out and add up what the model expects of near ones
	expected, variance float64
	farWrong, farAll   int // far points on the wrong side, and all
	active             int // points since it was set to 0 whose side the model leaves open
}

type link struct{ edge, next int32 }

// A slope is the derivative of the probability by the offset and by the direction of one edge.
type slope struct{ offset, theta float64 }

// An evaluation is the log-likelihood with its gradient and its expected information (row by row), both by all parameters.
type evaluation struct {
	value     float64
	gradient  []float64
	info      []float64
	parameter int
}

func newLikelihood(f *field, m Measures, mislabel float64) *likelihood {
	l := &likelihood{field: f, normal: normals(), beam: m.Beam, merged: m.SplitsMerged, mislabel: mislabel}
	l.outward = m.across
	l.inward = func(nx, ny float64) float64 { return -m.across(nx, ny) }
	if m.Footprint != (Ellipse{}) { // what may be reached: the longer half-width
		l.beam = m.Footprint.longest()
	}
	l.head = make([]int32, f.rows*f.cols)
	for i := range l.head {
		l.head[i] = -1
	}
	l.rowEdges = make([][]int32, f.rows)
	return l
}

// classes is the number of ordered classes that the observations can have.
func (l *likelihood) classes() float64 {
	if l.beam > 0 && !l.merged {
		return 3
	}
	return 2
}

// at evaluates m at the given noise over the cells of w. With into nil only the value is worked out. Observations in cells that no
// edge comes near are taken as a sum: they are right or mislabelled.
func (l *likelihood) at(m *model, sigma float64, w window, into *evaluation) float64 {
	l.sigma = sigma
	k := l.classes()
	l.settled = [2]float64{math.Log(l.mislabel), math.Log(l.mislabel + (1 - k*l.mislabel))}
	l.inner, l.outer = m.grown(l.inward, l.inner), m.grown(l.outward, l.outer)
	if l.merged {
		l.inner = m.grown(l.outward, l.inner)
	}
	if into != nil {
		into.reset(m.parameters())
	}
	defer l.unlink()
	if !l.link(w) {
		return math.Inf(-1)
	}
	value := 0.0
	for row := w.r0; row < w.r1; row++ {
		value += l.row(row, w, into)
	}
	if !l.weigh {
		value += l.pull(into)
	}
	if into != nil {
		into.value = value
	}
	return value
}

func (e *evaluation) reset(n int) {
	e.parameter = n
	e.gradient = append(e.gradient[:0], make([]float64, n)...)
	e.info = append(e.info[:0], make([]float64, n*n)...)
}

// link writes for each cell which edges come within reach of it, and for each row which edges cross it. It reports false when an
// edge is not finite.
func (l *likelihood) link(w window) bool {
	margin := reach*l.sigma + 2*l.beam + 0.7072*l.cell
	for i := range l.outer {
		s := &l.outer[i]
		if v := s.ax + s.ay; math.IsNaN(v) || math.IsInf(v, 0) {
			return false
		}
	}
	for i := range l.outer {
		l.linkEdge(int32(i), margin, w)
	}
	return true
}

func (l *likelihood) linkEdge(i int32, margin float64, w window) {
	s := &l.outer[i]
	for row := range l.rowEdges[w.r0:w.r1] {
		row += w.r0
		if y := l.y0 + (float64(row)+0.5)*l.cell; y > min(s.ay, s.by)-margin-l.cell && y < max(s.ay, s.by)+margin+l.cell {
			l.rowEdges[row] = append(l.rowEdges[row], i)
		}
	}
	l.eachCell(s, margin, w, func(c int) {
		if l.head[c] < 0 {
			l.touched = append(l.touched, int32(c))
		}
		l.links = append(l.links, link{i, l.head[c]})
		l.head[c] = int32(len(l.links) - 1)
	})
}

func (l *likelihood) unlink() {
	for _, c := range l.touched {
		l.head[c] = -1
	}
	l.links, l.touched = l.links[:0], l.touched[:0]
	for i := range l.rowEdges {
		l.rowEdges[i] = l.rowEdges[i][:0]
	}
}

// row sums the cells of one row: points where an edge is near, counts elsewhere. Between edges the side does not change, so it is
// asked once a gap.
func (l *likelihood) row(row int, w window, into *evaluation) float64 {
	value, inside, known := 0.0, 0, false
	for col := w.c0; col < w.c1; col++ {
		c := row*l.cols + col
		if w.mask != nil && !w.mask[c] {
			known = false
			continue
		}
		if l.head[c] >= 0 {
			known = false
			value += l.nearCell(c, row, into)
			continue
		}
		if l.start[c+1] == l.start[c] {
			continue
		}
		if !known {
			x, y := l.x0+(float64(col)+0.5)*l.cell, l.y0+(float64(row)+0.5)*l.cell
			inside, known = winding(l.outer, l.rowList(row), x, y), true
		}
		if l.weigh {
			l.weighCell(l.count[c], inside)
			continue
		}
		value += l.farCell(l.count[c], inside)
	}
	return value
}

// rowList is the list of edges of a row for winding; a row without edges has an empty list, not a nil one, which would mean all.
func (l *likelihood) rowList(row int) []int32 {
	if l.rowEdges[row] == nil {
		return []int32{}
	}
	return l.rowEdges[row]
}

func (l *likelihood) farCell(count [4]int32, inside int) float64 {
	k := l.classes()
	right, wrong := math.Log1p(-(k-1)*l.mislabel), math.Log(l.mislabel)
	in, out := right, wrong
	if inside == 0 {
		in, out = wrong, right
	}
	value := float64(count[Inside])*in + float64(count[Outside])*out
	if k == 3 {
		value += float64(count[Split]) * wrong
	}
	return value
}

func (l *likelihood) nearCell(c, row int, into *evaluation) float64 {
	l.near = l.near[:0]
	for k := l.head[c]; k >= 0; k = l.links[k].next {
		l.near = append(l.near, l.links[k].edge)
	}
	slices.Sort(l.near)
	if n := len(l.near); cap(l.minus) < n {
		l.minus, l.plus = make([]slope, n), make([]slope, n)
	}
	n := len(l.near)
	l.minus, l.plus = l.minus[:n], l.plus[:n]
	value := 0.0
	for i := l.start[c]; i < l.start[c+1]; i++ {
		value += l.point(int(i), row, into)
	}
	return value
}

// point is the log-probability of one observation. Its derivatives, if asked for, are added to into.
func (l *likelihood) point(i, row int, into *evaluation) float64 {
	side := l.side[i]
	if side == Unknown || side == Split && l.classes() == 2 && !l.merged {
		return 0
	}
	x, y := l.x[i], l.y[i]
	in, active := l.probability(l.inner, row, x, y, l.minus)
	out := in
	if l.beam > 0 && !l.merged {
		var also bool
		out, also = l.probability(l.outer, row, x, y, l.plus)
		active = active || also
	} else {
		copy(l.plus, l.minus)
	}
	if active {
		l.active++
	} else if !l.weigh && in == out && (in == 0 || in == 1) {
		return l.far(side, in)
	}
	if l.blind[i] { // split is Inside: one border, at the outer reach of the beam
		in = out
		copy(l.minus, l.plus)
		if side == Split {
			side = Inside
		}
	}
	k := l.classes()
	scale := 1 - k*l.mislabel
	p := [3]float64{l.mislabel + scale*in, l.mislabel + scale*max(out-in, 0), l.mislabel + scale*(1-out)}
	if l.weigh {
		l.weighPoint(p, k == 3)
	}
	if l.merged && side == Split {
		side = Inside
	}
	if into != nil && active {
		l.accumulate(into, side, p, scale)
	}
	return math.Log(p[side])
}

// far is the log-probability of an observation that no edge reaches.
func (l *likelihood) far(side Side, in float64) float64 {
	if side == Inside && in == 1 || side == Outside && in == 0 || side == Split && l.merged && in == 1 {
		return l.settled[1]
	}
	return l.settled[0]
}

// A term is the derivative of the two probabilities of a point by one parameter.
type term struct {
	param       int
	minus, plus float64
}

// accumulate adds the score of an observation of the given side and the information that a pulse at its place carries whatever its
// side, which is the sum over the classes of the products of their derivatives over their probability (Fisher).
func (l *likelihood) accumulate(into *evaluation, side Side, p [3]float64, scale float64) {
	l.terms = l.terms[:0]
	for a, ea := range l.near {
		m, q := l.minus[a], l.plus[a]
		if m != (slope{}) || q != (slope{}) {
			s := &l.inner[ea]
			l.terms = append(l.terms, term{s.param, scale * m.offset, scale * q.offset}, term{s.family, scale * m.theta, scale * q.theta})
		}
	}
	minus, plus, cross := 1/p[Inside], 1/p[Outside], 0.0
	if l.classes() == 3 {
		minus, plus, cross = minus+1/p[Split], plus+1/p[Split], -1/p[Split]
	}
	scoreMinus, scorePlus := 0.0, 0.0
	switch side {
	case Inside:
		scoreMinus = 1 / p[Inside]
	case Outside:
		scorePlus = -1 / p[Outside]
	case Split:
		scoreMinus, scorePlus = -1/p[Split], 1/p[Split]
	}
	for _, u := range l.terms {
		into.gradient[u.param] += scoreMinus*u.minus + scorePlus*u.plus
		line := into.info[u.param*into.parameter : (u.param+1)*into.parameter]
		um, up := minus*u.minus+cross*u.plus, plus*u.plus+cross*u.minus
		for _, v := range l.terms {
			line[v.param] += um*v.minus + up*v.plus
		}
	}
}

// pull adds the outward force of edges whose other side is hidden: each is the log of the chance that no roof point lies in the strip
// that the edge was moved over.
func (l *likelihood) pull(into *evaluation) float64 {
	value := 0.0
	for i := range l.outer {
		s := &l.outer[i]
		if s.pull == 0 {
			continue
		}
		value += s.pull * s.inward(s.px, s.py) * -1
		if into != nil {
			into.gradient[s.param] -= s.pull
			into.gradient[s.family] += s.pull * s.along(s.px, s.py)
		}
	}
	return value
}

// weighPoint adds the mean and variance that the model gives the log-probability of a near point.
func (l *likelihood) weighPoint(p [3]float64, three bool) {
	mean, square := 0.0, 0.0
	for side, q := range p {
		if Side(side) == Split && !three {
			continue
		}
		log := math.Log(q)
		mean += q * log
		square += q * log * log
	}
	l.expected += mean
	l.variance += square - mean*mean
}

// weighCell counts the points of a far cell and those of them on the wrong side.
func (l *likelihood) weighCell(count [4]int32, inside int) {
	l.farAll += int(count[Inside] + count[Outside])
	if inside == 0 {
		l.farWrong += int(count[Inside])
	} else {
		l.farWrong += int(count[Outside])
	}
}

// surprise is by how many of its standard deviations the log-likelihood of the observations near the outline falls short of what the
// model expects of it.
func (l *likelihood) surprise(m *model, sigma float64) float64 {
	l.weigh, l.expected, l.variance, l.farWrong, l.farAll = true, 0, 0, 0, 0
	defer func() { l.weigh = false }()
	value := l.at(m, sigma, l.all(), nil)
	return (l.expected - value) / math.Sqrt(max(l.variance, 1e-12))
}

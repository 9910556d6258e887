package outline

import "math"

// probability is the chance that a point observed at (x, y) with isotropic Gaussian noise came from inside the polygon, and its
// derivatives by the edges of l.near. It also reports whether any edge is within reach.
//
// The mass of a Gaussian over any polygon is the winding number about its centre less, for each edge at distance h that runs from a to
// b along its line (in units of sigma), T(h, b/h) - T(h, a/h) with Owen's T. A right-angled corner gives the product of two Φ that
// Green's theorem gives, and an edge far from its ends Φ(h) alone. The derivative by a parameter is the integral over the boundary of
// density times normal velocity (Hadamard): exact for every polygon, without T.
func (l *likelihood) probability(spans []span, row int, x, y float64, slopes []slope) (float64, bool) {
	if len(l.near) == 1 {
		if s := &spans[l.near[0]]; s.beside(x, y) {
			return l.oneEdge(s, x, y, &slopes[0])
		}
	}
	l.reached = l.reached[:0]
	for k, i := range l.near {
		slopes[k] = slope{}
		s := &spans[i]
		h := s.inward(x, y) / l.sigma
		if math.Abs(h) > reach {
			continue
		}
		t := s.along(x, y)
		a, b := (s.ta-t)/l.sigma, (s.tb-t)/l.sigma
		if min(a, b) > reach || max(a, b) < -reach {
			continue
		}
		mass, f := l.normal.at(h)
		f /= l.sigma
		if a < -reach && b > reach {
			slopes[k] = slope{f, -f * t}
		} else {
			before, heightA := l.normal.of(a)
			until, heightB := l.normal.of(b)
			share := until - before
			slopes[k] = slope{f * share, -f * (t*share - l.sigma*(heightB-heightA))}
		}
		l.reached = append(l.reached, reached{edge: i, h: h, a: a, b: b, mass: mass})
	}
	if len(l.reached) == 0 {
		return float64(winding(spans, l.rowList(row), x, y)), false
	}
	if p, ok := l.plain(spans); ok {
		return p, true
	}
	p := float64(winding(spans, l.rowList(row), x, y))
	for _, r := range l.reached {
		p -= l.normal.wedge(r.h, r.b) - l.normal.wedge(r.h, r.a)
	}
	return min(max(p, 0), 1), true
}

// A reached edge is one within reach of the point at hand: its distance and where it begins and ends, in sigmas.
type reached struct {
	edge    int32
	h, a, b float64
	mass    float64 // Φ(h)
}

// plain is the probability where one edge is within reach and its ends are not, or two at a right angle whose other ends are not.
func (l *likelihood) plain(spans []span) (float64, bool) {
	r := l.reached
	switch {
	case len(r) == 1 && r[0].a < -reach && r[0].b > reach:
		return r[0].mass, true
	case len(r) == 2:
		p, q := r[0], r[1]
		if spans[p.edge].next != int(q.edge) {
			p, q = q, p
		}
		s, t := &spans[p.edge], &spans[q.edge]
		if s.next != int(q.edge) || t.next == int(p.edge) || s.family != t.family || p.a > -reach || q.b < reach {
			return 0, false
		}
		in, also := p.mass, q.mass
		if s.nx*t.ny-s.ny*t.nx > 0 {
			return in * also, true
		}
		return in + also - in*also, true
	}
	return 0, false
}

// wedge is T(h, t/h), with the end of an edge that is out of reach taken as at infinity.
func (n *normalTable) wedge(h, t float64) float64 {
	if h == 0 {
		h = math.SmallestNonzeroFloat64
	}
	if math.Abs(t) > reach {
		mass, _ := n.of(-math.Abs(h))
		return math.Copysign(0.5*mass, t*h)
	}
	return n.owen(h, t/h)
}

// beside tells whether a place lies between the ends of an edge, measured along it.
func (s *span) beside(x, y float64) bool {
	t := s.along(x, y)
	return t >= s.ta && t <= s.tb
}

// oneEdge is probability where all but one edge, and so its ends, are out of reach.
func (l *likelihood) oneEdge(s *span, x, y float64, to *slope) (float64, bool) {
	h := s.inward(x, y) / l.sigma
	if h > reach {
		*to = slope{}
		return 1, false
	}
	if h < -reach {
		*to = slope{}
		return 0, false
	}
	mass, f := l.normal.at(h)
	f /= l.sigma
	*to = slope{f, -f * s.along(x, y)}
	return mass, true
}

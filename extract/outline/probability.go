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
		return l.oneEdge(&spans[l.near[0]], x, y, &slopes[0])
	}
	p, active := 0.0, false
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
		active = true
		if h == 0 {
			h = math.SmallestNonzeroFloat64
		}
		p -= owen(h, b/h) - owen(h, a/h)
		f, share := density(h)/l.sigma, cumulative(b)-cumulative(a)
		slopes[k] = slope{f * share, -f * (t*share - l.sigma*(density(b)-density(a)))}
	}
	p += float64(winding(spans, l.rowList(row), x, y))
	return min(max(p, 0), 1), active
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
	f := density(h) / l.sigma
	*to = slope{f, -f * s.along(x, y)}
	return cumulative(h), true
}

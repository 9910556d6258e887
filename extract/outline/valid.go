package outline

import "math"

// flattest is the sine of the least angle, half a degree, at which two edges may meet: at flatter ones their meeting point is not a corner.
const flattest = 0.009

// sound tells whether the rings of a model are what a polygon needs: each simple and of three edges or more, the first an exterior,
// the others holes inside it, no corner all but straight or all but a spike, and no two rings or edges touching other than at the ends of neighbours.
func (m *model) sound() bool {
	spans := m.spans(0, nil)
	for i := range spans {
		s, next := &spans[i], &spans[spans[i].next]
		if l := s.length(); !(l > 0) || math.IsInf(l, 0) || math.Abs(s.nx*next.ny-s.ny*next.nx) < flattest {
			return false
		}
	}
	for i := range spans {
		for k := i + 1; k < len(spans); k++ {
			if spans[i].next != k && spans[k].next != i && spans[i].touches(&spans[k]) {
				return false
			}
		}
	}
	return m.nested(spans)
}

// nested tells whether ring 0 has positive area and holds all other rings, which have negative area and do not hold each other. It
// supposes that no edges touch.
func (m *model) nested(spans []span) bool {
	if len(m.rings) == 0 || len(m.rings[0]) < 3 || !(ringArea(m.ringSpans(spans, 0)) > 0) {
		return false
	}
	for r := 1; r < len(m.rings); r++ {
		hole := m.ringSpans(spans, r)
		if len(hole) < 3 || !(ringArea(hole) < 0) {
			return false
		}
		for k := range m.rings {
			held := k != r && winding(m.ringSpans(spans, k), nil, hole[0].ax, hole[0].ay) != 0
			if held != (k == 0) {
				return false
			}
		}
	}
	return true
}

// touches tells whether two segments have a place in common, or come within a tenth of a millimetre of crossing: a corner of one on
// the other counts.
func (s *span) touches(o *span) bool {
	const near = 1e-4
	if max(s.ax, s.bx) < min(o.ax, o.bx)-near || max(o.ax, o.bx) < min(s.ax, s.bx)-near ||
		max(s.ay, s.by) < min(o.ay, o.by)-near || max(o.ay, o.by) < min(s.ay, s.by)-near {
		return false
	}
	return s.parted(o, near) && o.parted(s, near)
}

// parted tells whether the ends of o are on different sides of the line of s, or within near of it.
func (s *span) parted(o *span, near float64) bool {
	a, b := s.inward(o.ax, o.ay), s.inward(o.bx, o.by)
	return !(a > near && b > near) && !(a < -near && b < -near)
}

package topology

import (
	"math"

	"github.com/paulmach/orb"
)

// turn returns a value with the sign of the turn from a over b to c: positive
// to the left, zero when they are in line. For whole numbers below 2⁵² the sign
// is exact: the differences are, and the difference of products is formed with
// fused operations to within 1.5 ulp (Jeannerod, Louvet & Muller 2013, Math.
// Comp. 82:2245–2264, Kahan's algorithm), so that only zero gives zero.
func turn(a, b, c orb.Point) float64 {
	return products(b[0]-a[0], c[1]-a[1], b[1]-a[1], c[0]-a[0])
}

// products returns p·q − r·s.
func products(p, q, r, s float64) float64 {
	w := r * s
	return math.FMA(p, q, -w) + math.FMA(-r, s, w)
}

// crossing returns the point at which the segments ab and cd cross in their
// interiors. Segments that only touch do not cross.
func crossing(a, b, c, d orb.Point) (orb.Point, bool) {
	atA, atB := turn(c, d, a), turn(c, d, b)
	if !(atA > 0 && atB < 0 || atA < 0 && atB > 0) {
		return orb.Point{}, false
	}
	atC, atD := turn(a, b, c), turn(a, b, d)
	if !(atC > 0 && atD < 0 || atC < 0 && atD > 0) {
		return orb.Point{}, false
	}
	t := atA / (atA - atB)
	return orb.Point{a[0] + t*(b[0]-a[0]), a[1] + t*(b[1]-a[1])}, true
}

// passes reports whether the segment pq runs through the half-open pixel of
// the node. The cases are those of the corners of the pixel: on which side of
// the segment each lies, and for a corner on the segment, whether the segment
// goes on inside.
func passes(p, q, node orb.Point) bool {
	p = orb.Point{p[0] - node[0], p[1] - node[1]}
	q = orb.Point{q[0] - node[0], q[1] - node[1]}
	if p[0] > q[0] {
		p, q = q, p
	}
	const h = 0.5
	if p[0] >= h || q[0] < -h || min(p[1], q[1]) >= h || max(p[1], q[1]) < -h {
		return false
	}
	if p[0] == q[0] || p[1] == q[1] {
		return true
	}
	rising := p[1] < q[1]
	upperLeft := turn(p, q, orb.Point{-h, h})
	if upperLeft == 0 {
		return !rising
	}
	upperRight := turn(p, q, orb.Point{h, h})
	if upperRight == 0 {
		return rising
	}
	lowerLeft := turn(p, q, orb.Point{-h, -h})
	if (upperLeft > 0) != (upperRight > 0) || lowerLeft == 0 || (lowerLeft > 0) != (upperLeft > 0) {
		return true
	}
	lowerRight := turn(p, q, orb.Point{h, -h})
	if lowerRight == 0 {
		return !rising
	}
	return (lowerRight > 0) != (lowerLeft > 0)
}

// along returns where on the segment pq, from 0 to 1, the middle of its part
// in the pixel of the node lies. Pixels do not overlap, so this puts them in
// the order in which the segment runs through them.
func along(p, q, node orb.Point) float64 {
	enter, leave := 0.0, 1.0
	for i := range p {
		d := q[i] - p[i]
		if d == 0 {
			continue
		}
		t0, t1 := (node[i]-0.5-p[i])/d, (node[i]+0.5-p[i])/d
		enter, leave = max(enter, min(t0, t1)), min(leave, max(t0, t1))
	}
	return (enter + leave) / 2
}

package accuracy

import (
	"math"
	"slices"

	"github.com/paulmach/orb"

	"quoin/vector"
)

// leastSide is the length below which a side has no offset of its own, in
// metres.
const leastSide = 1

// compareSides measures how far outward the delivered boundary lies along each
// straight side of the reference.
func (p *Pair) compareSides(b *Building, f *vector.Footprint, o Options) {
	boundary := sides(f.Polygon)
	for r, ring := range b.Polygon {
		v := vertices(ring)
		for i := range v {
			s := segment{v[i], v[(i+1)%len(v)]}
			if s.length() < leastSide || b.roundSide(s) {
				continue
			}
			offset, ok := outwardOffset(s, boundary, o.gate())
			if !ok {
				continue
			}
			visible := 1.0
			if r < len(b.Visible) && i < len(b.Visible[r]) {
				visible = b.Visible[r][i]
			}
			p.Sides = append(p.Sides, Side{Length: s.length(), Offset: offset, Shifted: offset, Turn: p.turn(s), Visible: visible, outward: s.outward()})
		}
	}
}

// outwardOffset returns the median signed distance along the side's normal to
// the boundary, positive outward, over places in the middle four fifths of the
// side; false when less than half of them have the boundary within the gate.
func outwardOffset(s segment, boundary []segment, gate float64) (float64, bool) {
	const step = 0.2
	n := max(5, int(0.8*s.length()/step))
	normal := s.outward()
	var found []float64
	for k := range n {
		at := s.at(0.1 + 0.8*(float64(k)+0.5)/float64(n))
		if d := crossing(at, normal, boundary); math.Abs(d) <= gate {
			found = append(found, d)
		}
	}
	if 2*len(found) < n {
		return 0, false
	}
	return median(found), true
}

// crossing returns the signed distance from p along the unit vector n to the
// nearest side that runs within 45 degrees of square to n, like way round;
// infinite when there is none.
func crossing(p, n orb.Point, boundary []segment) float64 {
	best := math.Inf(1)
	for _, s := range boundary {
		ux, uy := s.b[0]-s.a[0], s.b[1]-s.a[1]
		across := ux*n[1] - uy*n[0]
		// The normal of s points the way of n.
		if -across < math.Sqrt2/2*s.length() {
			continue
		}
		wx, wy := s.a[0]-p[0], s.a[1]-p[1]
		t := (wx*n[1] - wy*n[0]) / -across // share along s
		if t < 0 || t > 1 {
			continue
		}
		if d := (wx+t*ux)*n[0] + (wy+t*uy)*n[1]; math.Abs(d) < math.Abs(best) {
			best = d
		}
	}
	return best
}

// turn returns the direction error of a side in degrees, where both its ends
// have partners; else NaN.
func (p *Pair) turn(s segment) float64 {
	var ends [2]*Corner
	for i := range p.Corners {
		switch p.Corners[i].At {
		case s.a:
			ends[0] = &p.Corners[i]
		case s.b:
			ends[1] = &p.Corners[i]
		}
	}
	if ends[0] == nil || ends[1] == nil {
		return math.NaN()
	}
	ux, uy := s.b[0]-s.a[0], s.b[1]-s.a[1]
	vx, vy := ux+ends[1].Delta[0]-ends[0].Delta[0], uy+ends[1].Delta[1]-ends[0].Delta[1]
	return math.Atan2(ux*vy-uy*vx, ux*vx+uy*vy) * 180 / math.Pi
}

// median returns the median; NaN of none. It does not change its argument.
func median(values []float64) float64 {
	v := slices.Clone(values)
	slices.Sort(v)
	switch n := len(v); {
	case n == 0:
		return math.NaN()
	case n%2 == 1:
		return v[n/2]
	default:
		return (v[n/2-1] + v[n/2]) / 2
	}
}

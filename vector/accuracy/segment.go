package accuracy

import (
	"math"

	"github.com/paulmach/orb"
)

// A segment is a side of an outline, the interior to its left.
type segment struct{ a, b orb.Point }

func distance(p, q orb.Point) float64 { return math.Hypot(p[0]-q[0], p[1]-q[1]) }

func (s segment) length() float64 { return distance(s.a, s.b) }

// at returns the place at share t of the way from a to b.
func (s segment) at(t float64) orb.Point {
	return orb.Point{s.a[0] + t*(s.b[0]-s.a[0]), s.a[1] + t*(s.b[1]-s.a[1])}
}

// outward returns the unit normal that points away from the interior.
func (s segment) outward() orb.Point {
	l := s.length()
	return orb.Point{(s.b[1] - s.a[1]) / l, (s.a[0] - s.b[0]) / l}
}

// distanceTo returns the distance of p from the segment, ends included.
func (s segment) distanceTo(p orb.Point) float64 {
	dx, dy := s.b[0]-s.a[0], s.b[1]-s.a[1]
	l := dx*dx + dy*dy
	if l == 0 {
		return distance(p, s.a)
	}
	t := ((p[0]-s.a[0])*dx + (p[1]-s.a[1])*dy) / l
	return distance(p, s.at(min(max(t, 0), 1)))
}

// vertices returns the ring without its closing point.
func vertices(r orb.Ring) []orb.Point {
	if n := len(r); n > 1 && r[0] == r[n-1] {
		return r[:n-1]
	}
	return r
}

// sides returns the sides of all rings; those without a length are left out.
func sides(p orb.Polygon) []segment {
	var all []segment
	for _, ring := range p {
		v := vertices(ring)
		for i := range v {
			if s := (segment{v[i], v[(i+1)%len(v)]}); s.length() > 0 {
				all = append(all, s)
			}
		}
	}
	return all
}

// nearest returns the index of the segment nearest to p and its distance;
// -1 and infinity when there is none.
func nearest(all []segment, p orb.Point) (int, float64) {
	best, d := -1, math.Inf(1)
	for i, s := range all {
		if e := s.distanceTo(p); e < d {
			best, d = i, e
		}
	}
	return best, d
}

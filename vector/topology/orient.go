package topology

import (
	"slices"

	"github.com/paulmach/orb"
)

// SignedArea returns the area of the ring, positive when it runs
// counter-clockwise. A ring of fewer than three points has none.
func SignedArea(ring orb.Ring) float64 {
	if len(ring) < 3 {
		return 0
	}
	o, sum := ring[0], 0.0
	for i := 1; i+1 < len(ring); i++ {
		a, b := ring[i], ring[i+1]
		sum += (a[0]-o[0])*(b[1]-o[1]) - (b[0]-o[0])*(a[1]-o[1])
	}
	return sum / 2
}

// Area returns the area of the polygon, holes taken out, whatever way its
// rings run.
func Area(p orb.Polygon) float64 {
	var sum float64
	for i, ring := range p {
		a := SignedArea(ring)
		if a < 0 {
			a = -a
		}
		if i > 0 {
			a = -a
		}
		sum += a
	}
	return sum
}

// Oriented reports whether the exterior runs counter-clockwise and every hole
// clockwise (OGC 06-103r4, 6.1.11.1; RFC 7946, 3.1.6).
func Oriented(p orb.Polygon) bool {
	for i, ring := range p {
		if (SignedArea(ring) > 0) != (i == 0) {
			return false
		}
	}
	return true
}

// Orient returns a copy of the polygon with the exterior counter-clockwise and
// the holes clockwise. The first point of each ring stays the first.
func Orient(p orb.Polygon) orb.Polygon {
	out := make(orb.Polygon, len(p))
	for i, ring := range p {
		out[i] = slices.Clone(ring)
		if (SignedArea(ring) > 0) != (i == 0) {
			slices.Reverse(out[i])
		}
	}
	return out
}

package accuracy

import (
	"math"

	"github.com/paulmach/orb"
)

// A corner is a vertex at which an outline turns.
type corner struct {
	ring, vertex int
	at           orb.Point
	// bend is the change of heading in radians, positive to the left.
	bend float64
}

// Vertices that turn by less than this, or lie nearer to the chord of their
// neighbours, are no corners: nodes where a neighbour's wall ends, and what
// rounding to a grid leaves.
const (
	leastBend    = 2 * math.Pi / 180
	leastLateral = 0.01
)

// cornersOf returns the corners of a polygon, straight vertices left out.
func cornersOf(p orb.Polygon) []corner {
	var all []corner
	for r, ring := range p {
		v := vertices(ring)
		n := len(v)
		for i := range v {
			before, after := v[(i+n-1)%n], v[(i+1)%n]
			c := corner{r, i, v[i], bend(before, v[i], after)}
			if math.Abs(c.bend) >= leastBend && (segment{before, after}).distanceTo(v[i]) >= leastLateral {
				all = append(all, c)
			}
		}
	}
	return all
}

// bend returns the change of heading at b of the way from a to c.
func bend(a, b, c orb.Point) float64 {
	ux, uy, vx, vy := b[0]-a[0], b[1]-a[1], c[0]-b[0], c[1]-b[1]
	return math.Atan2(ux*vy-uy*vx, ux*vx+uy*vy)
}

// sharpCorners returns the reference's corners that are no part of an arc.
func (b *Building) sharpCorners() []corner {
	var all []corner
	for _, c := range cornersOf(b.Polygon) {
		if !b.round(c.at) {
			all = append(all, c)
		}
	}
	return all
}

// besideArc reports whether a delivered corner lies at a round part of the
// reference: nearest to the chord of an arc, or within reach of one. Where a
// round part begins is not sharp enough to ask for a corner there.
func (b *Building) besideArc(c corner, reach float64) bool {
	if len(b.Arcs) == 0 {
		return false
	}
	chord, straight := math.Inf(1), math.Inf(1)
	for _, s := range sides(b.Polygon) {
		if d := s.distanceTo(c.at); b.roundSide(s) {
			chord = min(chord, d)
		} else {
			straight = min(straight, d)
		}
	}
	return chord <= max(straight, reach)
}

// matchCorners pairs reference and delivered corners one to one so that the
// sum of squared distances is least, where a corner without a partner costs
// the square of the gate. Only corners of like sense pair, convex with convex.
// It returns for each reference corner the index of its partner, or -1.
func matchCorners(reference, delivered []corner, gate float64) []int {
	cost := func(i, j int) float64 {
		a, b := reference[i], delivered[j]
		d := distance(a.at, b.at)
		if d > gate || (a.bend > 0) != (b.bend > 0) {
			return math.Inf(1)
		}
		return d * d
	}
	return assign(len(reference), len(delivered), gate*gate, cost)
}

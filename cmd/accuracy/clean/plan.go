// Package clean measures the outline fit alone: points around invented plans,
// each with the right label, given to the fit in process, and corners scored
// against the least error that they can have (quoin/vector/accuracy/bound).
//
// Only these cells call the fit; what the program delivers on files is measured
// by the command above.
package clean

import (
	"math"
	"math/rand/v2"

	"github.com/paulmach/orb"

	"quoin/vector/accuracy/bound"
)

// forms are the plans that are pooled, in units of a wing's width.
var forms = [...]bound.Ring{
	{{0, 0}, {3, 0}, {3, 2}, {0, 2}},
	{{0, 0}, {3, 0}, {3, 1}, {1.2, 1}, {1.2, 2.5}, {0, 2.5}},
	{{0, 1.5}, {1, 1.5}, {1, 0}, {2.2, 0}, {2.2, 1.5}, {3.2, 1.5}, {3.2, 2.6}, {0, 2.6}},
	{{0, 0}, {3.2, 0}, {3.2, 2.5}, {2.2, 2.5}, {2.2, 1}, {1, 1}, {1, 2.2}, {0, 2.2}},
}

// A plan is the true outline, anticlockwise.
type plan struct {
	ring bound.Ring
	// along is the direction of the first edge.
	along float64
}

// wingLow and wingHigh are how wide wings are, in metres: four spacings and more at
// two points a square metre.
const wingLow, wingHigh = 3.5, 5

// newPlan draws a plan of the form with the number, turned at random.
func newPlan(number int, rng *rand.Rand) plan {
	size := wingLow + rng.Float64()*(wingHigh-wingLow)
	turn := rng.Float64() * 2 * math.Pi
	dx, dy := rng.Float64()*10, rng.Float64()*10
	s, c := math.Sincos(turn)
	p := plan{along: turn}
	for _, v := range forms[number%len(forms)] {
		x, y := size*v[0], size*v[1]
		p.ring = append(p.ring, [2]float64{c*x - s*y + dx, s*x + c*y + dy})
	}
	return p
}

// polygon returns the plan as a closed polygon.
func (p plan) polygon() orb.Polygon {
	var ring orb.Ring
	for _, v := range p.ring {
		ring = append(ring, v)
	}
	return orb.Polygon{append(ring, ring[0])}
}

// depth is the distance to the outline, positive inside.
func (p plan) depth(x, y float64) float64 {
	in, least := false, math.Inf(1)
	for i, a := range p.ring {
		b := p.ring[(i+1)%len(p.ring)]
		if (a[1] > y) != (b[1] > y) && x < a[0]+(y-a[1])/(b[1]-a[1])*(b[0]-a[0]) {
			in = !in
		}
		ux, uy := b[0]-a[0], b[1]-a[1]
		t := min(max(((x-a[0])*ux+(y-a[1])*uy)/(ux*ux+uy*uy), 0), 1)
		least = min(least, math.Hypot(x-a[0]-t*ux, y-a[1]-t*uy))
	}
	if in {
		return least
	}
	return -least
}

// bounds is the plan's rectangle.
func (p plan) bounds() orb.Bound {
	return p.polygon().Bound()
}

package yard

import (
	"math"

	"quoin/extract/scene/solid"
)

// A Thing stands above the ground and is no building.
type Thing struct {
	// Kind is what it is, as "tree" or "truck".
	Kind string
	// Outline is its plan from above, counter-clockwise.
	Outline []solid.Point
	// Height is that of its top above the ground, in metres.
	Height float64
	Bodies []solid.Body
}

// disc returns a polygon of sixteen sides about a circle.
func disc(centre solid.Point, radius float64) []solid.Point {
	var ring []solid.Point
	for i := range 16 {
		s, c := math.Sincos(2 * math.Pi * float64(i) / 16)
		ring = append(ring, centre.Add(solid.Point{X: radius * c, Y: radius * s}))
	}
	return ring
}

// along returns the point at u along and v to the left of a heading from p.
func along(p solid.Point, heading, u, v float64) solid.Point {
	s, c := math.Sincos(heading)
	return p.Add(solid.Point{X: u*c - v*s, Y: u*s + v*c})
}

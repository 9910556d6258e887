package vector

import "github.com/paulmach/orb"

// An Arc is a round part of an outline. Polygons have a polyline in its place.
// Lengths are in the horizontal unit of the CRS, standard errors relative to
// the cloud.
type Arc struct {
	// Ring is 0 for the exterior, then the holes in order.
	Ring   int
	Centre orb.Point
	Radius float64
	// SigmaE, SigmaN and CovEN are those of the centre.
	SigmaE, SigmaN, CovEN float64
	SigmaRadius           float64
	// SweepDeg is the angle of the arc at its centre, in degrees: positive where
	// the roof lies within the circle, negative around a round court.
	SweepDeg float64
	// ChordError is the greatest distance of the polyline from the arc.
	ChordError float64
}

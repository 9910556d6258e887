package accuracy

import (
	"math"

	"github.com/paulmach/orb"

	"quoin/vector"
)

// A Building of the reference: what is true.
type Building struct {
	ID, Kind string
	// Polygon holds closed rings, the exterior counter-clockwise.
	Polygon orb.Polygon
	// Elevations are those of the roof edge at the vertices, ring by ring,
	// closing vertices left out; nil when not known.
	Elevations [][]float64
	// Visible are the shares of the sides that are seen from above; nil means
	// that all are seen whole.
	Visible [][]float64
	// Ground is the mean elevation of the terrain along the outline, Eave and
	// Ridge are elevations of the roof. NaN when not known.
	Ground, Eave, Ridge float64
	// LowestGround, HighestGround and HighestPoint are elevations, too.
	LowestGround, HighestGround, HighestPoint float64
	// Roof is the type of the roof; empty when not known.
	Roof vector.RoofType
	// Walls is the line of the walls beneath the roof edge, nil when not known;
	// Facades are the numbers of returns from the façades of its sides, ring by
	// ring.
	Walls   orb.Polygon
	Facades []int
	// Arcs are circles that round parts of the outline follow as polylines.
	Arcs []Arc
	// Neighbours are the IDs of the buildings with which it has a party wall.
	Neighbours []string
	// Ignored buildings are neither asked for nor held against the layer: cut
	// by the block's edge, or below the area delivered.
	Ignored bool
}

// An Arc is a circle.
type Arc struct {
	Centre orb.Point
	Radius float64
}

// onArc is how far a vertex may lie from a circle to be on it, in metres.
const onArc = 0.02

// round reports whether a place is on one of the building's arcs.
func (b *Building) round(p orb.Point) bool {
	for _, a := range b.Arcs {
		if math.Abs(distance(p, a.Centre)-a.Radius) <= onArc {
			return true
		}
	}
	return false
}

// roundSide reports whether a side is the chord of an arc: both its ends are
// on one circle, and so is its middle but for the sagitta.
func (b *Building) roundSide(s segment) bool {
	for _, a := range b.Arcs {
		da, db := distance(s.a, a.Centre)-a.Radius, distance(s.b, a.Centre)-a.Radius
		half := s.length() / 2
		if math.Abs(da) <= onArc && math.Abs(db) <= onArc && half < a.Radius/2 {
			return true
		}
	}
	return false
}

package vector

import "github.com/paulmach/orb"

// A CornerCheck compares one surveyed point with the corner it was matched
// to. Differences are delivered minus surveyed, in the CRS's units.
type CornerCheck struct {
	ControlID string
	// Surveyed is the surveyed position, east and north, and SurveyedU its
	// elevation (NaN when it has none).
	Surveyed  orb.Point
	SurveyedU float64
	// BuildingID, Ring and Vertex name the matched corner; BuildingID is
	// empty when there is none.
	BuildingID   string
	Ring, Vertex int
	// DeltaE, DeltaN and DeltaU are NaN where there is nothing to compare.
	DeltaE, DeltaN, DeltaU float64
	// Used says whether the point counts in the statistics; Reason says why
	// it does not, or why only its elevation does not.
	Used   bool
	Reason string
}

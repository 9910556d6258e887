package vector

import "github.com/paulmach/orb"

// A Role says what a surveyed point may be used for.
type Role string

// The roles. The zero value counts as RoleCheck: nothing may be adjusted to
// a point unless its surveyor says so.
const (
	RoleCheck   Role = "check"   // withheld: it tests
	RoleControl Role = "control" // it may adjust, and then tests nothing
	// RoleGeoreferencing is that of a point that the cloud was fitted to
	// before: it agrees by construction, so it neither tests nor adjusts.
	RoleGeoreferencing Role = "georeferencing"
)

// A CornerCheck compares one surveyed point with the corner it was matched
// to. Differences are delivered minus surveyed, in the CRS's units.
type CornerCheck struct {
	ControlID string
	// Surveyed is the surveyed position, east and north, and SurveyedU its
	// elevation (NaN when it has none).
	Surveyed  orb.Point
	SurveyedU float64
	// SurveySigma is the standard error of the surveyed east, north and
	// elevation; 0 where it is not given.
	SurveySigma [3]float64
	Role        Role
	// Feature is what was surveyed, as package control names it.
	Feature string
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

// Tests reports whether the point is one that tests: neither used to adjust
// nor to georeference.
func (c CornerCheck) Tests() bool { return c.Role == RoleCheck || c.Role == "" }

package vector

import (
	"strings"

	"github.com/paulmach/orb"
)

// SchemaVersion is the version of the layers and columns written by quoin. It
// follows semantic versioning: a new column raises the minor number, a changed
// or removed one the major number.
const SchemaVersion = "1.6.0"

// RoofEdge is the INSPIRE Buildings horizontal geometry reference of an
// outline captured by the roof edges, gutter lip included (INSPIRE
// D2.8.III.2, HorizontalGeometryReferenceValue).
const RoofEdge = "roofEdge"

// A Footprint is the outline of one building with what is known about it.
//
// Heights are in the vertical unit of the CRS; all other lengths in its
// horizontal linear unit. An unknown quantity is NaN.
type Footprint struct {
	// ID is stable: it follows from the building's position in the CRS, not
	// from the order of work.
	ID string
	// Reference is an INSPIRE HorizontalGeometryReferenceValue.
	Reference string
	// Polygon holds the closed rings: the exterior counter-clockwise, holes
	// clockwise.
	Polygon orb.Polygon
	// Corners has one entry for each vertex of each ring, the closing one
	// left out.
	Corners []Corner
	// AreaSigma is the standard error of the area, in the square of the CRS's
	// horizontal unit, relative to the cloud.
	AreaSigma float64
	// Sides has one entry for each edge of each ring. Walls is the outline of
	// the walls beneath the roof's edges; nil unless all of them are seen.
	Sides []Side
	Walls orb.Polygon
	// Arcs are the round parts.
	Arcs []Arc
	// Adjustment is the joint fit that the outline came of; nil when there was
	// none.
	Adjustment *Adjustment
	// GroundElevation is the elevation of the terrain at the outline.
	GroundElevation float64
	// EaveHeight and RidgeHeight are heights above GroundElevation.
	EaveHeight, RidgeHeight float64
	// LowestGround and HighestGround are the extremes of the terrain along the
	// outline, HighestPoint the elevation of the highest return from the
	// building.
	LowestGround, HighestGround, HighestPoint float64
	// Roof is the form of the roof, GeneralRoof its elevation in general: the
	// mean over its area.
	Roof        RoofForm
	GeneralRoof float64
	// Parts tile the polygon.
	Parts []RoofPart
	// PointCount is the number of roof points the outline rests on.
	PointCount int
	// EdgeRMS is the root mean square distance to the outline of the points
	// that lie on its wrong side.
	EdgeRMS float64
	// Quality is from 0 to 1; docs/footprints.md says what goes into it.
	Quality float64
	// Review holds the reasons why a person should look at this outline, in
	// alphabetical order; it is empty when there is none.
	Review []Reason
}

// CornerSigmaMax returns the largest standard error of any corner along any
// direction: the root of the larger eigenvalue of its covariance. It is NaN
// for a footprint without corners.
func (f Footprint) CornerSigmaMax() float64 {
	return maxSigma(f.Corners)
}

// ReviewText joins the reasons for a look with commas.
func (f Footprint) ReviewText() string {
	parts := make([]string, len(f.Review))
	for i, r := range f.Review {
		parts[i] = string(r)
	}
	return strings.Join(parts, ",")
}

// A Reason says why a person should look at an outline, or why it was not
// delivered.
type Reason string

// Reasons why a person should look at a delivered outline.
const (
	ReviewOccluded    Reason = "occluded"       // part of an edge has no ground seen beside it
	ReviewVegetation  Reason = "vegetation"     // vegetation covers part of an edge
	ReviewSparse      Reason = "sparse"         // too few points for its size
	ReviewAtBlockEdge Reason = "at-block-edge"  // cut by the edge of the data
	ReviewIrregular   Reason = "irregular"      // not explained by right angles
	ReviewVehicleLike Reason = "vehicle-like"   // has the size of a truck or a container
	ReviewTentLike    Reason = "tent-like"      // has the shape of a marquee
	ReviewSeveral     Reason = "may-be-several" // a row of houses, perhaps, that nothing shows the joints of
	ReviewOpenRoof    Reason = "open-roof"      // ground is seen below: canopy or carport
	ReviewAdjoining   Reason = "adjoining"      // outline adjusted where it met a neighbour
)

// Reasons why something above ground was held back.
const (
	HeldVegetation Reason = "vegetation"
	HeldSmall      Reason = "small"
	HeldLow        Reason = "low"
	HeldNarrow     Reason = "narrow"
	HeldVehicle    Reason = "vehicle"
	HeldBridge     Reason = "bridge"
	HeldSparse     Reason = "sparse"
	HeldMound      Reason = "mound" // smooth, and sloping to the ground
	HeldNoOutline  Reason = "no-outline"
)

// HeldBack is something found above ground and not delivered as a building.
type HeldBack struct {
	Polygon orb.Polygon
	Reason  Reason
	// Height is above ground, in the vertical unit; Area in squared
	// horizontal units.
	Height, Area float64
	PointCount   int
}

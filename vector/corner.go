package vector

import (
	"math"

	"github.com/paulmach/orb"
)

// CornerKind says how a corner was found.
type CornerKind string

const (
	// Adjusted corners lie where two edges meet that are both seen.
	Adjusted CornerKind = "adjusted"
	// Extended corners lie where at least one edge was carried on through a
	// part that the cloud does not show.
	Extended CornerKind = "extended"
	// Round vertices stand for an arc, or are where a side leaves one smoothly.
	// They are no corners, and no layer has them.
	Round CornerKind = "round"
)

// A Corner is one vertex of a footprint with its standard error.
//
// Standard errors are relative to the cloud: they hold the uncertainty of the
// outline in the points, not that of the cloud in the CRS. All are in the
// horizontal unit of the CRS, SigmaU and Elevation in the vertical one.
type Corner struct {
	BuildingID string
	// Ring is 0 for the exterior, then the holes in order; Vertex counts from
	// 0 along the ring.
	Ring, Vertex int
	Point        orb.Point
	// Elevation is that of the roof edge at the corner; NaN when unknown.
	Elevation      float64
	SigmaE, SigmaN float64
	CovEN          float64
	SigmaU         float64
	// AngleDeg is the interior angle, from 0 to 360 degrees.
	AngleDeg float64
	Kind     CornerKind
	// Network is the error in the CRS; nil where no surveyed points tell.
	Network *NetworkError
}

// A NetworkError is the covariance of a corner in the CRS, that of the cloud's
// own position included, as far as surveyed points tell: standard errors east
// and north, and their covariance, in the horizontal unit.
type NetworkError struct{ SigmaE, SigmaN, CovEN float64 }

// Axes returns the semi-axes of the corner's standard error ellipse, the
// larger first, and the direction of the larger, in radians anticlockwise
// from east.
func (c Corner) Axes() (major, minor, direction float64) {
	return Ellipse(c.SigmaE, c.SigmaN, c.CovEN)
}

// Ellipse returns the semi-axes of the standard error ellipse of a position,
// the larger first, and the direction of the larger, in radians anticlockwise
// from east, from standard errors east and north and their covariance.
func Ellipse(sigmaE, sigmaN, covEN float64) (major, minor, direction float64) {
	varE, varN := sigmaE*sigmaE, sigmaN*sigmaN
	mean, half := (varE+varN)/2, (varE-varN)/2
	root := math.Hypot(half, covEN)
	return math.Sqrt(mean + root), math.Sqrt(max(mean-root, 0)), math.Atan2(covEN, half) / 2
}

// Circle95 returns the radius of the circle that holds 95 % of normal errors
// whose standard error ellipse has the semi-axes major ≥ minor, by the
// polynomial of the National Geodetic Survey's data sheets
// (FGDC-STD-007.2-1998). It is within 0.2 % of the exact radius.
func Circle95(major, minor float64) float64 {
	if major == 0 {
		return 0
	}
	c := minor / major
	return major * (1.960790 + c*(0.004071+c*(0.114276+c*0.371625)))
}

// Azimuth turns a direction in radians anticlockwise from east into degrees
// clockwise from north, from 0 to below 180: an axis has no sense.
func Azimuth(direction float64) float64 {
	a := math.Mod(90-direction*180/math.Pi, 180)
	if a < 0 {
		a += 180
	}
	return a
}

func maxSigma(corners []Corner) float64 {
	largest := math.NaN()
	for _, c := range corners {
		if major, _, _ := c.Axes(); !(major <= largest) {
			largest = major
		}
	}
	return largest
}

package vector

import "github.com/paulmach/orb"

// An Adjustment is the joint fit of all edges of one outline.
//
// Its parameters are the directions first, then the offsets. An edge is the
// line n·(x - Origin) = offset with n its outward unit normal, which has the
// angle of its direction plus whole quarter turns. Edges of one direction are
// parallel or at right angles, exactly.
type Adjustment struct {
	Origin orb.Point
	// Directions are radians anticlockwise from grid east; Offsets are in the
	// horizontal unit of the CRS.
	Directions, Offsets []float64
	// Covariance is the upper triangle of the covariance of the parameters,
	// row by row, in radians and the horizontal unit, relative to the cloud.
	Covariance []float64
	// Observations are the pulses whose side of the outline the fit does not
	// take for granted.
	Observations  int
	LogLikelihood float64
	// Iterations is the number of steps of the last climb.
	Iterations int
}

// Parameters returns the number of unknowns.
func (a *Adjustment) Parameters() int { return len(a.Directions) + len(a.Offsets) }

// Cov returns the covariance of two parameters, directions first.
func (a *Adjustment) Cov(i, j int) float64 {
	if i > j {
		i, j = j, i
	}
	return a.Covariance[i*a.Parameters()-i*(i-1)/2+j-i]
}

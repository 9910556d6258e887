package control

import (
	"github.com/paulmach/orb"

	"quoin/vector"
)

// A Point is one surveyed point, in the CRS and units of its file.
type Point struct {
	// ID is unique in its file.
	ID          string
	East, North float64
	// Elevation is NaN where the file gives none.
	Elevation   float64
	Description string
	// Role is empty, which counts as RoleCheck, unless the file says otherwise.
	Role vector.Role
	// Sigma is the standard error of east, north and elevation; 0 where the
	// file gives none.
	Sigma [3]float64
	// Feature is what was surveyed; NoFeature counts as a roof corner.
	Feature Feature
	// Line is where in the file the point is, from 1.
	Line int
}

// XY returns the position, x east and y north.
func (p Point) XY() orb.Point { return orb.Point{p.East, p.North} }

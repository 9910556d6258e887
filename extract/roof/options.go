package roof

import (
	"errors"
	"fmt"
	"math"

	"quoin/extract/cloud"
)

// Options say what counts as a building. Lengths are metres, areas square
// metres.
type Options struct {
	// MinHeight is the least height above ground of a roof, (0, 20]. Default
	// 1.8: the door of a shed.
	MinHeight float64
	// MinArea is the least area of a building, (0, 1000]. Default 6.
	MinArea float64
	// MinPart is the least area of a part that is split off its neighbour,
	// (0, 10000]. Default 10.
	MinPart float64
	// SplitParts makes a lower part that is built onto a building, a hall's wing
	// or a garage, a building of its own; otherwise it is a part of that one.
	SplitParts bool
	// KeepVehicleLike delivers what has the size of a truck or a container as
	// a building with a reason to look at it; otherwise it is held back.
	KeepVehicleLike bool
	// KeepTentLike does so for what has the shape of a marquee.
	KeepTentLike bool
}

// DefaultOptions returns the published defaults.
func DefaultOptions() Options { return Options{MinHeight: 1.8, MinArea: 6, MinPart: 10} }

// Validate returns every fault of the options, joined, or nil.
func (o Options) Validate() error {
	var faults []error
	for _, f := range []struct {
		name        string
		value, most float64
	}{{"least height of a roof", o.MinHeight, 20}, {"least area of a building", o.MinArea, 1000}, {"least area of a part", o.MinPart, 10000}} {
		if !(f.value > 0 && f.value <= f.most) {
			faults = append(faults, fmt.Errorf("roof: %s %v is not above 0 and at most %v", f.name, f.value, f.most))
		}
	}
	return errors.Join(faults...)
}

// floor is the height above ground from which a point may be part of a roof.
// It lies below MinHeight because a roof may come down to a rising slope.
const floor = 0.5

// limits are the working parameters that follow from what was measured.
type limits struct {
	radius  float64 // of the neighbourhood that a local surface is fitted to
	reach   float64 // half the height of that neighbourhood
	inlier  float64 // distance from a surface within which a point is on it
	clean   float64 // root mean square residual of a hard smooth surface
	link    float64 // distance at which two points of one surface are neighbours
	step    float64 // least height step between two buildings
	attach  float64 // distance from an extended surface at which an edge point is on it
	cell    float64 // of the mask
	sigmaZ  float64
	sigma   float64
	spacing float64
	density float64
}

// limitsOf derives the working parameters. Spacing below 2 cm and above 3 m
// is beyond what the stage is made for and is taken as these.
func limitsOf(m cloud.Measures) limits {
	s := min(max(m.Spacing, 0.02), 3)
	z := min(max(m.SigmaZ, 0), 0.3)
	l := limits{
		radius: max(0.6, 2*s),
		inlier: max(0.08, 3*z), // 3 sd; tiles and standing seams are thicker than the noise
		clean:  max(0.03, 1.5*z),
		link:   max(0.3, 2.2*s),
		step:   max(0.2, 5*z),
		attach: max(0.15, 4*z),
		cell:   cellSize(s),
		sigmaZ: z, sigma: min(max(m.Sigma, 0), 0.5), spacing: s, density: 1 / (s * s),
	}
	l.reach = 1.2*l.radius + 0.5 // a roof of 60 degrees stays inside
	return l
}

// CellSize returns the side of the cells of Mask, Cluster and Held in metres:
// the least power of two that is at least half a metre and holds two points
// on average, so that cells are anchored on the origin of the CRS.
func CellSize(m cloud.Measures) float64 { return limitsOf(m).cell }

func cellSize(s float64) float64 {
	return 0.5 * math.Exp2(max(math.Ceil(math.Log2(1.4*s/0.5)), 0))
}

package vector

import "github.com/paulmach/orb"

// FootPrint is the INSPIRE Buildings horizontal geometry reference of an
// outline of the walls at the ground (INSPIRE D2.8.III.2,
// HorizontalGeometryReferenceValue).
const FootPrint = "footPrint"

// A Side is one edge of a footprint, with the wall beneath it where that is
// seen. Lengths are in the horizontal unit of the CRS, heights in the vertical
// one; unknown quantities are NaN.
type Side struct {
	// Ring is 0 for the exterior, then the holes in order; Edge runs from the
	// ring's vertex of that number to the next.
	Ring, Edge int
	From, To   orb.Point
	// Direction and Offset are the positions of the side's own in
	// Adjustment.Directions and Adjustment.Offsets; both -1 for a side that no
	// edge of the fit became, such as one along which a neighbour was cut off.
	Direction, Offset int
	// Arc is the position in Footprint.Arcs of the arc that the side is a chord
	// of; -1 for none.
	Arc int
	// SigmaLength is the standard error of the side's length. It follows from
	// the adjustment; at ends that are no corners of it, from that of the
	// corners, which are then taken as independent.
	SigmaLength float64
	// Overhang is the distance of the wall from the roof edge, SigmaOverhang
	// its standard error, that of the roof edge included.
	Overhang, SigmaOverhang float64
	// FacadePoints is the number of returns that the wall line rests on, Low
	// and High the heights above ground between which they lie.
	FacadePoints int
	Low, High    float64
}

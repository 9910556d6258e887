package vector

import "github.com/paulmach/orb"

// An ImageCheck says how one building lies in an orthophoto: image less
// footprint. Lengths are in the horizontal unit of the CRS; unknown ones are NaN.
type ImageCheck struct {
	BuildingID string
	// At is the middle of the building's edges.
	At orb.Point
	// DeltaE and DeltaN are the shift, with standard errors; BesideE and BesideN
	// what remains of it beside that of all buildings.
	DeltaE, DeltaN   float64
	SigmaE, SigmaN   float64
	BesideE, BesideN float64
	// RotationDeg is counter-clockwise.
	RotationDeg float64
	// SizeBias is by how much the image shows each side further out.
	SizeBias, SigmaSize float64
	// Residual is the root mean square of the edges about the building's fit.
	Residual float64
	// EdgesSeen of Edges were found in the image.
	EdgesSeen, Edges int
	// Agreement says whether the building lies in the image as the others do, and
	// what is wrong when not: see package imagecheck.
	Agreement string
}

package vector

import (
	"slices"

	"github.com/paulmach/orb"
)

// A RoofType is the form of a whole roof.
type RoofType string

// The types of roof.
const (
	RoofUnknown  RoofType = ""
	RoofFlat     RoofType = "flat"
	RoofShed     RoofType = "shed"
	RoofGable    RoofType = "gable"
	RoofHip      RoofType = "hip"
	RoofMansard  RoofType = "mansard"
	RoofDome     RoofType = "dome"
	RoofVault    RoofType = "vault"
	RoofCone     RoofType = "cone"
	RoofSawtooth RoofType = "sawtooth"
	RoofComplex  RoofType = "complex"
)

// roofCodes are the values of the CityGML code list for the type of a roof, in
// the order of RoofTypes (OGC 12-019, annex C.1, _AbstractBuilding roofType:
// 1000 flat, 1010 monopitch, 1030 gabled, 1040 hipped, 1060 mansard, 1080 cone,
// 1090 cupola, 1100 saw-tooth, 1110 arch, 1130 combination of forms; from
// memory).
func roofCodes() []int { return []int{1000, 1010, 1030, 1040, 1060, 1090, 1110, 1080, 1100, 1130} }

// RoofTypes returns the known types.
func RoofTypes() []RoofType {
	return []RoofType{RoofFlat, RoofShed, RoofGable, RoofHip, RoofMansard, RoofDome, RoofVault, RoofCone, RoofSawtooth, RoofComplex}
}

// Code returns the value of the CityGML code list for the type; 0 where it is
// not known.
func (t RoofType) Code() int {
	if i := slices.Index(RoofTypes(), t); i >= 0 {
		return roofCodes()[i]
	}
	return 0
}

// A RoofForm is what a whole roof is like. Pitch is the mean pitch of its
// sloping parts in degrees, or of all where it is flat; Aspect the direction in
// which the largest sloping part falls, in degrees clockwise from grid north,
// NaN of a flat roof.
type RoofForm struct {
	Type          RoofType
	Pitch, Aspect float64
}

// A PartForm is the kind of surface of a part of a roof.
type PartForm string

// The kinds of surface.
const (
	FormUnknown PartForm = ""
	FormPlane   PartForm = "plane"
	FormDome    PartForm = "dome"
	FormVault   PartForm = "vault"
	FormCone    PartForm = "cone"
	FormFree    PartForm = "free" // curved, or not explained by few planes
)

// A RoofPart is one patch of a roof. Its unknown quantities are NaN; units are
// those of a Footprint.
type RoofPart struct {
	// Part counts the parts of a building from 1, the largest first.
	Part int
	Form PartForm
	// Polygon is valid and oriented. The parts of a building tile its
	// footprint.
	Polygon orb.Polygon
	// Origin, Elevation and Gradient are the plane: Elevation + Gradient·(p −
	// Origin). The gradient is that of the vertical unit by the horizontal
	// one, to the east and the north. A curved part has the plane of least
	// squares.
	Origin    orb.Point
	Elevation float64
	Gradient  orb.Point
	// Pitch is the angle with the horizontal in degrees, Aspect the direction
	// in which the part falls, clockwise from grid north; NaN of a level one.
	Pitch, Aspect float64
	// Eave and Ridge are the lowest and the highest elevation of the surface.
	Eave, Ridge float64
	// RMS is that of the points from the surface, along the vertical.
	RMS        float64
	PointCount int
}

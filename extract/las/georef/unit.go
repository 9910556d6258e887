package georef

import (
	"math"

	"quoin/vector"
)

// EPSG codes of the units that clouds come in.
const (
	unitMetre        = 9001
	unitFoot         = 9002
	unitUSSurveyFoot = 9003
)

// unitTolerance is the largest relative difference at which a printed length
// is taken for a unit: the two feet differ by 2·10⁻⁶, and programs print
// them with six digits or more.
const unitTolerance = 1.5e-6

// UnitOfLength returns the unit of a length in metres: the known one nearest
// to it, else one with the given name. It is unknown for a length that is not
// a positive number.
func UnitOfLength(name string, metres float64) vector.Unit {
	if !(metres > 0) || math.IsInf(metres, 0) {
		return vector.Unit{}
	}
	best, least := vector.Unit{Name: name, Symbol: name, Metres: metres}, unitTolerance
	for _, u := range []vector.Unit{vector.Metre, vector.Foot, vector.USSurveyFoot} {
		if d := math.Abs(metres/u.Metres - 1); d < least {
			best, least = u, d
		}
	}
	return best
}

// unitOfCode returns the unit with an EPSG code, unknown for any but the
// three that clouds come in.
func unitOfCode(code int) vector.Unit {
	switch code {
	case unitMetre:
		return vector.Metre
	case unitFoot:
		return vector.Foot
	case unitUSSurveyFoot:
		return vector.USSurveyFoot
	}
	return vector.Unit{}
}

// codeOfUnit returns the EPSG code of a unit, 0 when it has none here.
func codeOfUnit(u vector.Unit) uint16 {
	switch u {
	case vector.Metre:
		return unitMetre
	case vector.Foot:
		return unitFoot
	case vector.USSurveyFoot:
		return unitUSSurveyFoot
	}
	return 0
}

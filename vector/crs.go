package vector

import "fmt"

// A Unit is a unit of length.
type Unit struct {
	// Name is the EPSG name, as "metre", "foot", "US survey foot".
	Name string
	// Symbol is what people write behind a number: "m", "ft", "usft".
	Symbol string
	// Metres is the length of one unit in metres.
	Metres float64
}

// The three units that clouds are delivered in. Their lengths are exact: the
// international foot by definition, the US survey foot as 1200/3937 m.
var (
	Metre        = Unit{"metre", "m", 1}
	Foot         = Unit{"foot", "ft", 0.3048}
	USSurveyFoot = Unit{"US survey foot", "usft", 1200.0 / 3937.0}
)

// Known reports whether the unit has been established.
func (u Unit) Known() bool { return u.Metres > 0 }

// ParseUnit returns the unit with the given symbol: m, ft or usft.
func ParseUnit(symbol string) (Unit, error) {
	for _, u := range []Unit{Metre, Foot, USSurveyFoot} {
		if u.Symbol == symbol {
			return u, nil
		}
	}
	return Unit{}, fmt.Errorf("unit %q is not known: give m, ft or usft", symbol)
}

// A CRSKind says what sort of coordinates a CRS has.
type CRSKind string

// The kinds of CRS. Footprints are measured in a projected or a local one
// only: degrees are no lengths, and Web Mercator's lengths are wrong by the
// secant of the latitude.
const (
	UnknownCRS     CRSKind = ""
	ProjectedCRS   CRSKind = "projected"
	LocalCRS       CRSKind = "local"
	GeographicCRS  CRSKind = "geographic"
	GeocentricCRS  CRSKind = "geocentric"
	WebMercatorCRS CRSKind = "web mercator"
)

// A CRS identifies a coordinate reference system and its units.
//
// The zero value is an unknown CRS of unknown unit.
type CRS struct {
	// Name is the CRS's own name; empty when unknown.
	Name string
	// Kind is unknown while only the code is known: package crs looks it up.
	Kind CRSKind
	// Authority and Code identify the horizontal CRS, as "EPSG" and 25832;
	// empty and 0 when it has only a definition.
	Authority string
	Code      int
	// VerticalCode is the EPSG code of the vertical CRS; 0 when unknown.
	VerticalCode int
	// WKT is the definition in well-known text; empty when unknown.
	WKT string
	// Horizontal and Vertical are the linear units.
	Horizontal, Vertical Unit
}

// Known reports whether the position of the data on the Earth is known; an
// unknown CRS may still have a unit.
func (c CRS) Known() bool { return c.WKT != "" || c.Code != 0 }

// Measurable reports whether lengths and areas can be taken from coordinates:
// not in degrees, not in Web Mercator. An unknown kind counts as measurable,
// for a cloud of unknown CRS whose unit the user gives.
func (c CRS) Measurable() bool {
	switch c.Kind {
	case GeographicCRS, GeocentricCRS, WebMercatorCRS:
		return false
	}
	return true
}

// String returns the authority and code where there is one, else the name.
func (c CRS) String() string {
	switch {
	case c.Code != 0 && c.VerticalCode != 0:
		return fmt.Sprintf("%s:%d+%d", c.Authority, c.Code, c.VerticalCode)
	case c.Code != 0:
		return fmt.Sprintf("%s:%d", c.Authority, c.Code)
	case c.Name != "":
		return c.Name
	case c.WKT != "":
		return "user-defined CRS"
	}
	return "unknown CRS"
}

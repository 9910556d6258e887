package layer

import "quoin/vector"

// A Quantity says which unit a column's values are in.
type Quantity int

// The quantities. Grid quantities follow the CRS of the delivery.
const (
	Dimensionless  Quantity = iota
	GridLength              // the CRS's horizontal linear unit
	GridArea                // its square
	GridCovariance          // its square as well, of a covariance
	GridHeight              // the CRS's vertical unit
	Metres                  // metres, whatever the CRS
	SquareMetres            // square metres, whatever the CRS
	Degrees                 // degrees of arc
)

// Unit returns the name of the unit in crs; empty for a quantity without one.
// Of an unknown unit it says so.
func (q Quantity) Unit(crs vector.CRS) string {
	switch q {
	case GridLength:
		return named(crs.Horizontal)
	case GridArea, GridCovariance:
		return "square " + named(crs.Horizontal)
	case GridHeight:
		return named(crs.Vertical)
	case Metres:
		return vector.Metre.Name
	case SquareMetres:
		return "square " + vector.Metre.Name
	case Degrees:
		return "degree"
	}
	return ""
}

func named(u vector.Unit) string {
	if !u.Known() {
		return "unit of the coordinates"
	}
	return u.Name
}

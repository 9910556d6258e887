// Package layer is the contract of the delivered layers: their names, their
// columns with titles and units, and the rows that a delivery gives them.
//
// Every writer asks this package what to write, so that a GeoPackage, a
// GeoJSON file and any later format hold the same values under the same names.
// docs/formats.md lists the columns; a test holds the two together.
package layer

import (
	"iter"
	"math"

	"github.com/paulmach/orb"

	"quoin/vector"
)

// Type is the type of a column's values.
type Type int

// The types, with the Go type of their values in a Row.
const (
	Text    Type = iota // string
	Real                // float64
	Integer             // int64
	Boolean             // bool
)

// Geometry is the OGC Simple Features type of a layer.
type Geometry string

// The types in use, by their OGC names.
const (
	Point   Geometry = "POINT"
	Polygon Geometry = "POLYGON"
	Line    Geometry = "LINESTRING"
	// None is that of a table of attributes alone.
	None Geometry = ""
)

// A Column describes one attribute.
type Column struct {
	Name, Title, Description string
	Type                     Type
	Quantity                 Quantity
	// Decimals is the number of decimals that Real values are rounded to.
	Decimals int
	// Values are the only ones that can occur, with what each means; nil for
	// a free column.
	Values []Value
}

// A Value is one entry of a column's list of values.
type Value struct{ Name, Meaning string }

// A Layer describes one set of features.
type Layer struct {
	Name, Title, Description string
	Geometry                 Geometry
	Columns                  []Column
	rows                     func(d vector.Delivery, yield func(Row) bool)
}

// A Row is one feature.
type Row struct {
	// Geometry is an orb.Point, an orb.LineString or an orb.Polygon, in the CRS of the delivery;
	// nil where there is none.
	Geometry orb.Geometry
	// Values has one entry for each column: nil where the value is unknown,
	// else of the column's type. No float64 in it is NaN or infinite.
	Values []any
}

// All returns the layers in the order in which they are delivered.
func All() []Layer {
	return []Layer{Footprints(), Corners(), CornerChecks(), HeldBack(), Sides(), WallOutlines(), Adjustments(), Arcs(), RoofParts(), ImageChecks()}
}

// Decimals of the values. Coordinates are snapped to 0.1 mm, and what follows
// from them has no use for more. Standard errors of a few millimetres keep four
// digits with two more, and covariances, with twice as many, the correlation.
const (
	coordinateDecimals = 4
	sigmaDecimals      = 6
)

// Rows returns the features that d has for the layer, in its order, with
// attributes rounded to the decimals of their columns. The sequence may be run
// more than once.
func (l Layer) Rows(d vector.Delivery) iter.Seq[Row] {
	return func(yield func(Row) bool) {
		l.rows(d, func(row Row) bool {
			for i, c := range l.Columns {
				if v, ok := row.Values[i].(float64); ok {
					row.Values[i] = rounded(v, c.Decimals)
				}
			}
			return yield(row)
		})
	}
}

// rounded returns the double nearest to v rounded to so many decimals.
func rounded(v float64, decimals int) float64 {
	scale := math.Pow10(decimals)
	if r := math.Round(v*scale) / scale; !math.IsInf(r, 0) {
		return r + 0 // no negative zero, which prints in two ways
	}
	return v
}

// number returns v, or nil where it is not a number that a layer can hold.
func number(v float64) any {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return nil
	}
	return v
}

// text returns s, or nil where it is empty, for columns in which an empty text
// means that there is nothing to say.
func text(s string) any {
	if s == "" {
		return nil
	}
	return s
}

func polygon(p orb.Polygon) orb.Geometry {
	if len(p) == 0 || len(p[0]) == 0 {
		return nil
	}
	return p
}

func point(p orb.Point) orb.Geometry {
	if number(p[0]) == nil || number(p[1]) == nil {
		return nil
	}
	return p
}

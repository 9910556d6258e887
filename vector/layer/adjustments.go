package layer

import (
	"strconv"
	"strings"

	"quoin/vector"
)

// Adjustments is the table of the joint fits that the outlines came of, one
// row a building. Lists are JSON arrays, which every program can take apart.
func Adjustments() Layer {
	return Layer{
		Name: "adjustments", Title: "Adjustments of outlines",
		Description: "The joint fit of each outline: its parameters with their covariance, from which those of corners, lengths and areas follow.",
		Geometry:    None,
		Columns: []Column{
			{Name: "building_id", Title: "Building", Description: "Identifier of the footprint.", Type: Text},
			{Name: "origin_e", Title: "Origin east", Description: "Easting of the place that offsets are measured from.", Type: Real, Quantity: GridLength, Decimals: coordinateDecimals},
			{Name: "origin_n", Title: "Origin north", Description: "Northing of the place that offsets are measured from.", Type: Real, Quantity: GridLength, Decimals: coordinateDecimals},
			{Name: "parameters", Title: "Parameters", Description: "Names of the parameters, a JSON array: direction_0 and on, in radians anticlockwise from grid east, then offset_0 and on, in the horizontal unit of the CRS.", Type: Text},
			{Name: "estimates", Title: "Estimates", Description: "Values of the parameters, a JSON array.", Type: Text},
			{Name: "covariance", Title: "Covariance", Description: "Upper triangle of the covariance of the parameters, row by row, a JSON array; relative to the cloud.", Type: Text},
			{Name: "observations", Title: "Observations", Description: "Number of pulses near the outline whose side the fit does not take for granted.", Type: Integer},
			{Name: "degrees_of_freedom", Title: "Degrees of freedom", Description: "Observations less parameters.", Type: Integer},
			{Name: "log_likelihood", Title: "Log-likelihood", Description: "Log-likelihood of all observations, in nats.", Type: Real, Decimals: coordinateDecimals},
			{Name: "iterations", Title: "Iterations", Description: "Number of steps of the last climb.", Type: Integer},
		},
		rows: adjustmentRows,
	}
}

func adjustmentRows(d vector.Delivery, yield func(Row) bool) {
	for _, f := range d.Footprints {
		a := f.Adjustment
		if a == nil {
			continue
		}
		values := append(append([]float64(nil), a.Directions...), a.Offsets...)
		ok := yield(Row{nil, []any{
			f.ID, number(a.Origin[0]), number(a.Origin[1]), parameterNames(a), list(values, 12), list(a.Covariance, 9),
			int64(a.Observations), int64(a.Observations - a.Parameters()), number(a.LogLikelihood), int64(a.Iterations),
		}})
		if !ok {
			return
		}
	}
}

func parameterNames(a *vector.Adjustment) string {
	var names []string
	for i := range a.Directions {
		names = append(names, `"direction_`+strconv.Itoa(i)+`"`)
	}
	for i := range a.Offsets {
		names = append(names, `"offset_`+strconv.Itoa(i)+`"`)
	}
	return "[" + strings.Join(names, ",") + "]"
}

// list writes numbers as a JSON array with so many significant digits; what is
// no number becomes null.
func list(values []float64, digits int) string {
	b := []byte{'['}
	for i, v := range values {
		if i > 0 {
			b = append(b, ',')
		}
		if number(v) == nil {
			b = append(b, "null"...)
			continue
		}
		b = strconv.AppendFloat(b, v, 'g', digits, 64)
	}
	return string(append(b, ']'))
}

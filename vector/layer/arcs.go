package layer

import "quoin/vector"

// Arcs is the layer of the round parts of outlines, by the centres of their
// circles, one row an arc.
func Arcs() Layer {
	return Layer{
		Name: "arcs", Title: "Round parts of buildings",
		Description: "Centres of the arcs that round parts of the footprints follow. Standard errors are relative to the cloud.",
		Geometry:    Point,
		Columns: []Column{
			{Name: "building_id", Title: "Building", Description: "Identifier of the footprint.", Type: Text},
			{Name: "arc", Title: "Arc", Description: "Number of the arc in its building, from 0.", Type: Integer},
			{Name: "ring", Title: "Ring", Description: "0 for the exterior, then the holes in order.", Type: Integer},
			{Name: "radius", Title: "Radius", Description: "Radius of the arc.", Type: Real, Quantity: GridLength, Decimals: coordinateDecimals},
			{Name: "sigma_radius", Title: "Standard error of the radius", Description: "Standard error of the radius, relative to the cloud.", Type: Real, Quantity: GridLength, Decimals: sigmaDecimals},
			{Name: "sigma_e", Title: "Standard error east", Description: "Standard error of the centre's easting, relative to the cloud.", Type: Real, Quantity: GridLength, Decimals: sigmaDecimals},
			{Name: "sigma_n", Title: "Standard error north", Description: "Standard error of the centre's northing, relative to the cloud.", Type: Real, Quantity: GridLength, Decimals: sigmaDecimals},
			{Name: "cov_en", Title: "Covariance east north", Description: "Covariance of the centre's easting and northing, relative to the cloud.", Type: Real, Quantity: GridCovariance, Decimals: 2 * sigmaDecimals},
			{Name: "sweep_deg", Title: "Sweep", Description: "Angle of the arc at its centre; negative around a round court.", Type: Real, Quantity: Degrees, Decimals: coordinateDecimals},
			{Name: "chord_error", Title: "Chord error", Description: "Greatest distance of the outline's polyline from the arc.", Type: Real, Quantity: GridLength, Decimals: sigmaDecimals},
		},
		rows: arcRows,
	}
}

func arcRows(d vector.Delivery, yield func(Row) bool) {
	for _, f := range d.Footprints {
		for i, a := range f.Arcs {
			ok := yield(Row{point(a.Centre), []any{
				f.ID, int64(i), int64(a.Ring), number(a.Radius), number(a.SigmaRadius),
				number(a.SigmaE), number(a.SigmaN), number(a.CovEN), number(a.SweepDeg), number(a.ChordError),
			}})
			if !ok {
				return
			}
		}
	}
}

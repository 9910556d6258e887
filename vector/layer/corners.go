package layer

import "quoin/vector"

// Corners is the layer of the footprints' vertices with their standard
// errors, one row a vertex.
func Corners() Layer {
	return Layer{
		Name: "corners", Title: "Building corners",
		Description: "Corners of the footprints with standard errors. Standard errors are relative to the cloud: how well the cloud itself lies in the CRS is only in those that begin with network.",
		Geometry:    Point,
		Columns: []Column{
			{Name: "building_id", Title: "Building", Description: "Identifier of the footprint.", Type: Text},
			{Name: "ring", Title: "Ring", Description: "0 for the exterior, then the holes in order.", Type: Integer},
			{Name: "vertex", Title: "Vertex", Description: "Position along the ring, from 0.", Type: Integer},
			{Name: "elevation", Title: "Elevation", Description: "Elevation of the roof edge at the corner.", Type: Real, Quantity: GridHeight, Decimals: coordinateDecimals},
			{Name: "sigma_e", Title: "Standard error east", Description: "Standard error of the easting, relative to the cloud.", Type: Real, Quantity: GridLength, Decimals: sigmaDecimals},
			{Name: "sigma_n", Title: "Standard error north", Description: "Standard error of the northing, relative to the cloud.", Type: Real, Quantity: GridLength, Decimals: sigmaDecimals},
			{Name: "cov_en", Title: "Covariance east north", Description: "Covariance of easting and northing, relative to the cloud.", Type: Real, Quantity: GridCovariance, Decimals: 2 * sigmaDecimals},
			{Name: "sigma_u", Title: "Standard error up", Description: "Standard error of the elevation, relative to the cloud.", Type: Real, Quantity: GridHeight, Decimals: sigmaDecimals},
			{Name: "angle_deg", Title: "Interior angle", Description: "Angle inside the building, from 0 to 360.", Type: Real, Quantity: Degrees, Decimals: coordinateDecimals},
			{
				Name: "kind", Title: "Kind", Description: "How the corner was found.", Type: Text,
				Values: []Value{
					{string(vector.Adjusted), "both edges that meet here are seen"},
					{string(vector.Extended), "an edge was carried on through a part that the cloud does not show"},
				},
			},
			{Name: "ellipse_major", Title: "Major axis", Description: "Larger semi-axis of the standard error ellipse, relative to the cloud.", Type: Real, Quantity: GridLength, Decimals: sigmaDecimals},
			{Name: "ellipse_minor", Title: "Minor axis", Description: "Smaller semi-axis of the standard error ellipse, relative to the cloud.", Type: Real, Quantity: GridLength, Decimals: sigmaDecimals},
			{Name: "ellipse_azimuth_deg", Title: "Azimuth of the major axis", Description: "Direction of the larger semi-axis, clockwise from grid north, from 0 to 180.", Type: Real, Quantity: Degrees, Decimals: coordinateDecimals},
			{Name: "circle_95", Title: "Circle of 95 %", Description: "Radius of the circle that holds 95 % of the errors, relative to the cloud.", Type: Real, Quantity: GridLength, Decimals: sigmaDecimals},
			{Name: "network_sigma_e", Title: "Standard error east in the CRS", Description: "Standard error of the easting, position of the cloud in the CRS included, as far as surveyed points tell; empty where none are near.", Type: Real, Quantity: GridLength, Decimals: sigmaDecimals},
			{Name: "network_sigma_n", Title: "Standard error north in the CRS", Description: "Standard error of the northing, position of the cloud in the CRS included, as far as surveyed points tell; empty where none are near.", Type: Real, Quantity: GridLength, Decimals: sigmaDecimals},
			{Name: "network_cov_en", Title: "Covariance east north in the CRS", Description: "Covariance of easting and northing, position of the cloud in the CRS included.", Type: Real, Quantity: GridCovariance, Decimals: 2 * sigmaDecimals},
			{Name: "network_circle_95", Title: "Circle of 95 % in the CRS", Description: "Radius of the circle that holds 95 % of the errors, position of the cloud in the CRS included; empty where no surveyed points are near.", Type: Real, Quantity: GridLength, Decimals: sigmaDecimals},
		},
		rows: cornerRows,
	}
}

func cornerRows(d vector.Delivery, yield func(Row) bool) {
	for _, f := range d.Footprints {
		for _, c := range f.Corners {
			if c.Kind == vector.Round {
				continue
			}
			var network [4]any
			if n := c.Network; n != nil {
				major, minor, _ := vector.Ellipse(n.SigmaE, n.SigmaN, n.CovEN)
				network = [4]any{number(n.SigmaE), number(n.SigmaN), number(n.CovEN), number(vector.Circle95(major, minor))}
			}
			major, minor, direction := c.Axes()
			ok := yield(Row{point(c.Point), []any{
				c.BuildingID, int64(c.Ring), int64(c.Vertex), number(c.Elevation),
				number(c.SigmaE), number(c.SigmaN), number(c.CovEN), number(c.SigmaU), number(c.AngleDeg), text(string(c.Kind)),
				number(major), number(minor), number(vector.Azimuth(direction)), number(vector.Circle95(major, minor)),
				network[0], network[1], network[2], network[3],
			}})
			if !ok {
				return
			}
		}
	}
}

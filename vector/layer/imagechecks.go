package layer

import "quoin/vector"

// ImageChecks is the layer of how buildings lie in an orthophoto, one row a
// building.
func ImageChecks() Layer {
	return Layer{
		Name: "image_checks", Title: "Checks on an orthophoto",
		Description: "How each building lies in the orthophoto that was given, image less footprint; empty without one. An image that was rectified or coloured with the same cloud is no independent test.",
		Geometry:    Point,
		Columns: []Column{
			{Name: "building_id", Title: "Building", Description: "Identifier of the footprint.", Type: Text},
			{Name: "delta_e", Title: "Shift east", Description: "By how much the image shows the building east of its footprint.", Type: Real, Quantity: GridLength, Decimals: coordinateDecimals},
			{Name: "delta_n", Title: "Shift north", Description: "By how much the image shows the building north of its footprint.", Type: Real, Quantity: GridLength, Decimals: coordinateDecimals},
			{Name: "sigma_e", Title: "Standard error east", Description: "Standard error of the shift east.", Type: Real, Quantity: GridLength, Decimals: sigmaDecimals},
			{Name: "sigma_n", Title: "Standard error north", Description: "Standard error of the shift north.", Type: Real, Quantity: GridLength, Decimals: sigmaDecimals},
			{Name: "beside_e", Title: "Beside the block east", Description: "Shift east less that of all buildings together.", Type: Real, Quantity: GridLength, Decimals: coordinateDecimals},
			{Name: "beside_n", Title: "Beside the block north", Description: "Shift north less that of all buildings together.", Type: Real, Quantity: GridLength, Decimals: coordinateDecimals},
			{Name: "rotation_deg", Title: "Rotation", Description: "By how much the image shows the building turned, counter-clockwise.", Type: Real, Quantity: Degrees, Decimals: coordinateDecimals},
			{Name: "size_bias", Title: "Size bias", Description: "By how much the image shows each side further out, from opposite sides.", Type: Real, Quantity: GridLength, Decimals: coordinateDecimals},
			{Name: "sigma_size", Title: "Standard error of the size bias", Description: "Standard error of the size bias.", Type: Real, Quantity: GridLength, Decimals: sigmaDecimals},
			{Name: "residual", Title: "Residual", Description: "Root mean square of the edges about shift, rotation and size bias.", Type: Real, Quantity: GridLength, Decimals: coordinateDecimals},
			{Name: "edges_seen", Title: "Edges seen", Description: "Number of edges that were found in the image.", Type: Integer},
			{Name: "edges", Title: "Edges", Description: "Number of edges of the footprint.", Type: Integer},
			{
				Name: "agreement", Title: "Agreement", Description: "Whether the building lies in the image as the others do, and what is wrong when not.", Type: Text,
				Values: []Value{
					{"agrees", "it lies as the others do"},
					{"not-seen", "too few of its edges are seen"},
					{"image-lean", "the image shows it leaning"},
					{"image-seam", "a patch of the image lies off: its neighbours do so alike"},
					{"image-shadow", "its sunlit edges agree, those in the shadow do not"},
					{"footprint-edge", "one edge is out of line with the others: it is wrong, or the image shows something else beside it"},
					{"footprint-shift", "it lies off as a whole, its neighbours do not"},
					{"footprint-size", "it is larger or smaller than the image shows"},
				},
			},
		},
		rows: imageCheckRows,
	}
}

func imageCheckRows(d vector.Delivery, yield func(Row) bool) {
	for _, c := range d.ImageChecks {
		ok := yield(Row{point(c.At), []any{
			c.BuildingID, number(c.DeltaE), number(c.DeltaN), number(c.SigmaE), number(c.SigmaN), number(c.BesideE), number(c.BesideN),
			number(c.RotationDeg), number(c.SizeBias), number(c.SigmaSize), number(c.Residual),
			int64(c.EdgesSeen), int64(c.Edges), c.Agreement,
		}})
		if !ok {
			return
		}
	}
}

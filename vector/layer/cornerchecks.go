package layer

import "quoin/vector"

// CornerChecks is the layer of surveyed points, matched or not, one row a
// point, at the surveyed position.
func CornerChecks() Layer {
	return Layer{
		Name: "corner_checks", Title: "Corners against surveyed points",
		Description: "Surveyed points at their surveyed position, with the difference of the corner that each was matched to. Differences are delivered minus surveyed.",
		Geometry:    Point,
		Columns: []Column{
			{Name: "control_id", Title: "Surveyed point", Description: "Name of the point in the control file.", Type: Text},
			{Name: "elevation", Title: "Surveyed elevation", Description: "Elevation in the control file; empty when it has none.", Type: Real, Quantity: GridHeight, Decimals: coordinateDecimals},
			{Name: "building_id", Title: "Building", Description: "Footprint of the matched corner; empty when there is none.", Type: Text},
			{Name: "ring", Title: "Ring", Description: "Ring of the matched corner.", Type: Integer},
			{Name: "vertex", Title: "Vertex", Description: "Vertex of the matched corner.", Type: Integer},
			{Name: "delta_e", Title: "Difference east", Description: "Delivered minus surveyed easting.", Type: Real, Quantity: GridLength, Decimals: coordinateDecimals},
			{Name: "delta_n", Title: "Difference north", Description: "Delivered minus surveyed northing.", Type: Real, Quantity: GridLength, Decimals: coordinateDecimals},
			{Name: "delta_u", Title: "Difference up", Description: "Delivered minus surveyed elevation.", Type: Real, Quantity: GridHeight, Decimals: coordinateDecimals},
			{Name: "used", Title: "Used", Description: "Whether the position counts in the statistics from which blunders are left out.", Type: Boolean},
			{Name: "reason", Title: "Reason", Description: "Why the point, or only its elevation, is not used; empty when all of it is.", Type: Text},
			{
				Name: "role", Title: "Role", Description: "What the point may be used for.", Type: Text,
				Values: []Value{
					{string(vector.RoleCheck), "withheld: it tests"},
					{string(vector.RoleControl), "it may adjust, and does not test"},
					{string(vector.RoleGeoreferencing), "the cloud was fitted to it before: it neither tests nor adjusts"},
				},
			},
			{Name: "feature", Title: "Feature", Description: "What was surveyed, by the code list; empty when the description does not say, which counts as a roof corner.", Type: Text},
			{Name: "survey_sigma_e", Title: "Survey standard error east", Description: "Standard error of the surveyed easting; empty when it is not given.", Type: Real, Quantity: GridLength, Decimals: sigmaDecimals},
			{Name: "survey_sigma_n", Title: "Survey standard error north", Description: "Standard error of the surveyed northing; empty when it is not given.", Type: Real, Quantity: GridLength, Decimals: sigmaDecimals},
			{Name: "survey_sigma_u", Title: "Survey standard error up", Description: "Standard error of the surveyed elevation; empty when it is not given.", Type: Real, Quantity: GridHeight, Decimals: sigmaDecimals},
		},
		rows: checkRows,
	}
}

func checkRows(d vector.Delivery, yield func(Row) bool) {
	for _, c := range d.Checks {
		var ring, vertex any
		if c.BuildingID != "" {
			ring, vertex = int64(c.Ring), int64(c.Vertex)
		}
		role := c.Role
		if role == "" {
			role = vector.RoleCheck
		}
		ok := yield(Row{point(c.Surveyed), []any{
			c.ControlID, number(c.SurveyedU), text(c.BuildingID), ring, vertex,
			number(c.DeltaE), number(c.DeltaN), number(c.DeltaU), c.Used, c.Reason,
			string(role), text(c.Feature), given(c.SurveySigma[0]), given(c.SurveySigma[1]), given(c.SurveySigma[2]),
		}})
		if !ok {
			return
		}
	}
}

// given returns a standard error, or nil where it is zero, which means that it
// is not given.
func given(sigma float64) any {
	if sigma == 0 {
		return nil
	}
	return number(sigma)
}

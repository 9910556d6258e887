package layer

import (
	"math"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"quoin/vector"
)

// Footprints is the layer of delivered outlines, one row a building.
func Footprints() Layer {
	return Layer{
		Name: "footprints", Title: "Building footprints, roof edge",
		Description: "Outlines of buildings by the edges of their roofs as seen from above, gutter lip included. Not wall lines and not a boundary survey.",
		Geometry:    Polygon,
		Columns: []Column{
			{Name: "building_id", Title: "Building", Description: "Identifier that follows from the position of the building, not from the order of work.", Type: Text},
			{
				Name: "reference", Title: "Horizontal geometry reference",
				Description: "Which part of the building the outline follows, an INSPIRE HorizontalGeometryReferenceValue.", Type: Text,
				Values: []Value{{vector.RoofEdge, "captured by the roof edges"}},
			},
			{Name: "area_m2", Title: "Area in square metres", Description: "Area on the grid of the CRS, holes taken out.", Type: Real, Quantity: SquareMetres, Decimals: coordinateDecimals},
			{Name: "perimeter_m", Title: "Perimeter in metres", Description: "Length of all rings, holes included, on the grid of the CRS.", Type: Real, Quantity: Metres, Decimals: coordinateDecimals},
			{Name: "area", Title: "Area", Description: "Area on the grid of the CRS, holes taken out.", Type: Real, Quantity: GridArea, Decimals: coordinateDecimals},
			{Name: "perimeter", Title: "Perimeter", Description: "Length of all rings, holes included, on the grid of the CRS.", Type: Real, Quantity: GridLength, Decimals: coordinateDecimals},
			{Name: "ground_elevation", Title: "Ground elevation", Description: "Elevation of the terrain at the outline.", Type: Real, Quantity: GridHeight, Decimals: coordinateDecimals},
			{Name: "eave_height", Title: "Eave height", Description: "Height of the eave above the ground elevation.", Type: Real, Quantity: GridHeight, Decimals: coordinateDecimals},
			{Name: "ridge_height", Title: "Ridge height", Description: "Height of the highest roof above the ground elevation.", Type: Real, Quantity: GridHeight, Decimals: coordinateDecimals},
			{Name: "point_count", Title: "Points", Description: "Number of roof points that the outline rests on.", Type: Integer},
			{Name: "edge_rms", Title: "Edge RMS", Description: "Root mean square distance to the outline of the points on its wrong side.", Type: Real, Quantity: GridLength, Decimals: sigmaDecimals},
			{Name: "corner_sigma_max", Title: "Largest corner standard error", Description: "Largest standard error of any corner in any direction, relative to the cloud.", Type: Real, Quantity: GridLength, Decimals: sigmaDecimals},
			{Name: "quality", Title: "Quality", Description: "Probability that the footprint is right, from 0 to 1.", Type: Real, Decimals: coordinateDecimals},
			{Name: "review", Title: "Review", Description: "Reasons why a person should look at the outline, separated by commas; empty when there is none.", Type: Text},
			{Name: "area_ground_m2", Title: "Area on the ground in square metres", Description: "Area on the grid through the square of the combined factor that was given; empty without one.", Type: Real, Quantity: SquareMetres, Decimals: coordinateDecimals},
			{Name: "perimeter_ground_m", Title: "Perimeter on the ground in metres", Description: "Perimeter on the grid through the combined factor that was given; empty without one.", Type: Real, Quantity: Metres, Decimals: coordinateDecimals},
			{Name: "area_sigma_m2", Title: "Standard error of the area in square metres", Description: "Standard error of area_m2, relative to the cloud.", Type: Real, Quantity: SquareMetres, Decimals: coordinateDecimals},
			{Name: "lowest_ground", Title: "Lowest ground", Description: "Lowest elevation of the terrain along the outline, INSPIRE lowestGroundPoint.", Type: Real, Quantity: GridHeight, Decimals: coordinateDecimals},
			{Name: "highest_ground", Title: "Highest ground", Description: "Highest elevation of the terrain along the outline, INSPIRE highestGroundPoint.", Type: Real, Quantity: GridHeight, Decimals: coordinateDecimals},
			{Name: "general_eave", Title: "General eave", Description: "Elevation of the eave in general, INSPIRE generalEave.", Type: Real, Quantity: GridHeight, Decimals: coordinateDecimals},
			{Name: "general_roof", Title: "General roof", Description: "Mean elevation of the roof over its area, INSPIRE generalRoof.", Type: Real, Quantity: GridHeight, Decimals: coordinateDecimals},
			{Name: "highest_point", Title: "Highest point", Description: "Elevation of the highest return from the building, chimneys and plant included, INSPIRE highestPoint.", Type: Real, Quantity: GridHeight, Decimals: coordinateDecimals},
			{Name: "roof_height", Title: "Roof height", Description: "Height of general_roof above the ground elevation.", Type: Real, Quantity: GridHeight, Decimals: coordinateDecimals},
			{Name: "top_height", Title: "Top height", Description: "Height of highest_point above the ground elevation.", Type: Real, Quantity: GridHeight, Decimals: coordinateDecimals},
			{Name: "roof_type", Title: "Roof type", Description: "Form of the roof; empty when too little of it is seen.", Type: Text, Values: roofTypes()},
			{Name: "roof_type_code", Title: "Roof type, CityGML", Description: "Value of the CityGML code list for the type of a roof.", Type: Integer},
			{Name: "roof_pitch_deg", Title: "Roof pitch", Description: "Mean pitch of the sloping parts, or of all where the roof is flat.", Type: Real, Quantity: Degrees, Decimals: coordinateDecimals},
			{Name: "roof_aspect_deg", Title: "Roof aspect", Description: "Direction in which the largest sloping part falls, clockwise from grid north, from 0 to 360; empty of a flat roof.", Type: Real, Quantity: Degrees, Decimals: coordinateDecimals},
		},
		rows: footprintRows,
	}
}

func footprintRows(d vector.Delivery, yield func(Row) bool) {
	metres := d.CRS.Horizontal.Metres
	if metres <= 0 {
		metres = math.NaN()
	}
	ground := metres / d.CombinedFactor // infinite, so empty, without a factor
	for _, f := range d.Footprints {
		area, length := planar.Area(f.Polygon), boundaryLength(f.Polygon)
		ok := yield(Row{polygon(f.Polygon), []any{
			f.ID, f.Reference,
			number(area * metres * metres), number(length * metres), number(area), number(length),
			number(f.GroundElevation), number(f.EaveHeight), number(f.RidgeHeight),
			int64(f.PointCount), number(f.EdgeRMS), number(f.CornerSigmaMax()), number(f.Quality), f.ReviewText(),
			number(area * ground * ground), number(length * ground), number(f.AreaSigma * metres * metres),
			number(f.LowestGround), number(f.HighestGround), number(f.GroundElevation + f.EaveHeight),
			number(f.GeneralRoof), number(f.HighestPoint), number(f.GeneralRoof - f.GroundElevation), number(f.HighestPoint - f.GroundElevation),
			text(string(f.Roof.Type)), code(f.Roof.Type), number(f.Roof.Pitch), number(f.Roof.Aspect),
		}})
		if !ok {
			return
		}
	}
}

func boundaryLength(p orb.Polygon) float64 {
	var sum float64
	for _, ring := range p {
		for i := 1; i < len(ring); i++ {
			sum += math.Hypot(ring[i][0]-ring[i-1][0], ring[i][1]-ring[i-1][1])
		}
	}
	return sum
}

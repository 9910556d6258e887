package layer

import (
	"math"

	"github.com/paulmach/orb/planar"

	"quoin/vector"
)

// RoofParts is the layer of the patches that roofs are made of, one row a plane
// or curved surface. The parts of a building tile its footprint.
func RoofParts() Layer {
	return Layer{
		Name: "roof_parts", Title: "Roof parts",
		Description: "Patches of roofs, one for each plane or curved surface, as seen from above. Those of a building tile its footprint.",
		Geometry:    Polygon,
		Columns: []Column{
			{Name: "building_id", Title: "Building", Description: "Identifier of the footprint.", Type: Text},
			{Name: "part", Title: "Part", Description: "Counts the parts of a building from 1, the largest first.", Type: Integer},
			{
				Name: "form", Title: "Form", Description: "Kind of surface; empty when too little of it is seen.", Type: Text,
				Values: []Value{
					{string(vector.FormPlane), "a plane"},
					{string(vector.FormDome), "bent downwards all round"},
					{string(vector.FormVault), "bent downwards in one direction"},
					{string(vector.FormCone), "a cone"},
					{string(vector.FormFree), "curved otherwise, or not explained by few planes"},
				},
			},
			{Name: "pitch_deg", Title: "Pitch", Description: "Angle of the plane with the horizontal.", Type: Real, Quantity: Degrees, Decimals: coordinateDecimals},
			{Name: "aspect_deg", Title: "Aspect", Description: "Direction in which the plane falls, clockwise from grid north, from 0 to 360; empty below 5 degrees of pitch.", Type: Real, Quantity: Degrees, Decimals: coordinateDecimals},
			{Name: "eave_elevation", Title: "Eave", Description: "Lowest elevation of the surface.", Type: Real, Quantity: GridHeight, Decimals: coordinateDecimals},
			{Name: "ridge_elevation", Title: "Ridge", Description: "Highest elevation of the surface.", Type: Real, Quantity: GridHeight, Decimals: coordinateDecimals},
			{Name: "area_m2", Title: "Area in square metres", Description: "Area as seen from above, on the grid of the CRS.", Type: Real, Quantity: SquareMetres, Decimals: coordinateDecimals},
			{Name: "surface_m2", Title: "Surface in square metres", Description: "Area of the surface itself: that as seen from above over the cosine of the pitch; empty unless it is a plane.", Type: Real, Quantity: SquareMetres, Decimals: coordinateDecimals},
			{Name: "plane_rms", Title: "Plane RMS", Description: "Root mean square distance of the points from the surface, along the vertical.", Type: Real, Quantity: GridHeight, Decimals: sigmaDecimals},
			{Name: "point_count", Title: "Points", Description: "Number of points on the surface.", Type: Integer},
			{Name: "plane_e", Title: "Plane, easting", Description: "Easting of the place that the plane's elevation is given for.", Type: Real, Quantity: GridLength, Decimals: coordinateDecimals},
			{Name: "plane_n", Title: "Plane, northing", Description: "Northing of that place.", Type: Real, Quantity: GridLength, Decimals: coordinateDecimals},
			{Name: "plane_elevation", Title: "Plane, elevation", Description: "Elevation of the plane at that place; of a curved surface the plane is that of least squares.", Type: Real, Quantity: GridHeight, Decimals: coordinateDecimals},
			{Name: "gradient_e", Title: "Gradient to the east", Description: "Rise of the plane to the east, vertical unit a horizontal unit.", Type: Real, Decimals: sigmaDecimals},
			{Name: "gradient_n", Title: "Gradient to the north", Description: "Rise of the plane to the north, vertical unit a horizontal unit.", Type: Real, Decimals: sigmaDecimals},
		},
		rows: roofPartRows,
	}
}

func roofPartRows(d vector.Delivery, yield func(Row) bool) {
	metres := d.CRS.Horizontal.Metres
	if metres <= 0 {
		metres = math.NaN()
	}
	for _, f := range d.Footprints {
		for _, p := range f.Parts {
			area := planar.Area(p.Polygon) * metres * metres
			surface := math.NaN()
			if p.Form == vector.FormPlane {
				surface = area / math.Cos(p.Pitch*math.Pi/180)
			}
			ok := yield(Row{polygon(p.Polygon), []any{
				f.ID, int64(p.Part), text(string(p.Form)), number(p.Pitch), number(p.Aspect), number(p.Eave), number(p.Ridge),
				number(area), number(surface), number(p.RMS), int64(p.PointCount),
				number(p.Origin[0]), number(p.Origin[1]), number(p.Elevation), number(p.Gradient[0]), number(p.Gradient[1]),
			}})
			if !ok {
				return
			}
		}
	}
}

// roofTypes are the values of a column of roof types, with the INSPIRE and
// CityGML terms where they have one.
func roofTypes() []Value {
	return []Value{
		{string(vector.RoofFlat), "flat roof, pitched below 5 degrees"},
		{string(vector.RoofShed), "one slope, a monopitch roof"},
		{string(vector.RoofGable), "slopes that end in gables"},
		{string(vector.RoofHip), "slopes to all sides"},
		{string(vector.RoofMansard), "steep slopes below gentler ones"},
		{string(vector.RoofDome), "a dome or cupola"},
		{string(vector.RoofVault), "an arched roof"},
		{string(vector.RoofCone), "a conical roof"},
		{string(vector.RoofSawtooth), "slopes in a row that fall the same way"},
		{string(vector.RoofComplex), "a combination of forms"},
	}
}

// code returns a roof type's value in the CityGML code list, nil of none.
func code(t vector.RoofType) any {
	if c := t.Code(); c > 0 {
		return int64(c)
	}
	return nil
}

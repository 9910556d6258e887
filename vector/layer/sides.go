package layer

import (
	"math"

	"github.com/paulmach/orb"

	"quoin/vector"
)

// Sides is the layer of the footprints' edges, with what is known of the walls
// beneath them, one row an edge.
func Sides() Layer {
	return Layer{
		Name: "sides", Title: "Sides of buildings",
		Description: "Edges of the footprints with their lengths, and the overhang of the roof where the wall beneath is seen. Standard errors are relative to the cloud.",
		Geometry:    Line,
		Columns: []Column{
			{Name: "building_id", Title: "Building", Description: "Identifier of the footprint.", Type: Text},
			{Name: "ring", Title: "Ring", Description: "0 for the exterior, then the holes in order.", Type: Integer},
			{Name: "edge", Title: "Edge", Description: "Position along the ring, from 0: from the vertex of that number to the next.", Type: Integer},
			{Name: "direction", Title: "Direction", Description: "Number of the side's direction among the parameters in adjustments; empty where the side is not of the fit.", Type: Integer},
			{Name: "offset", Title: "Offset", Description: "Number of the side's offset among the parameters in adjustments; empty where the side is not of the fit.", Type: Integer},
			{Name: "arc", Title: "Arc", Description: "Number of the arc that the side is a chord of; empty for a straight side.", Type: Integer},
			{Name: "length", Title: "Length", Description: "Length of the roof edge on the grid of the CRS.", Type: Real, Quantity: GridLength, Decimals: coordinateDecimals},
			{Name: "sigma_length", Title: "Standard error of the length", Description: "Standard error of the length, from the adjustment.", Type: Real, Quantity: GridLength, Decimals: sigmaDecimals},
			{Name: "overhang", Title: "Overhang", Description: "Distance of the wall inside the roof edge; empty where the wall is not seen.", Type: Real, Quantity: GridLength, Decimals: coordinateDecimals},
			{Name: "sigma_overhang", Title: "Standard error of the overhang", Description: "Standard error of the overhang, 2 cm for the wall's relief included.", Type: Real, Quantity: GridLength, Decimals: sigmaDecimals},
			{Name: "facade_points", Title: "Façade points", Description: "Number of returns from the wall.", Type: Integer},
			{Name: "facade_low", Title: "Façade seen from", Description: "Least height above ground of the returns from the wall.", Type: Real, Quantity: GridHeight, Decimals: coordinateDecimals},
			{Name: "facade_high", Title: "Façade seen to", Description: "Greatest height above ground of the returns from the wall.", Type: Real, Quantity: GridHeight, Decimals: coordinateDecimals},
		},
		rows: sideRows,
	}
}

func sideRows(d vector.Delivery, yield func(Row) bool) {
	for _, f := range d.Footprints {
		for _, s := range f.Sides {
			length := math.Hypot(s.To[0]-s.From[0], s.To[1]-s.From[1])
			ok := yield(Row{orb.LineString{s.From, s.To}, []any{
				f.ID, int64(s.Ring), int64(s.Edge), place(s.Direction), place(s.Offset), place(s.Arc), number(length), number(s.SigmaLength),
				number(s.Overhang), number(s.SigmaOverhang), int64(s.FacadePoints), number(s.Low), number(s.High),
			}})
			if !ok {
				return
			}
		}
	}
}

// place returns the number of a parameter, or nil where there is none.
func place(n int) any {
	if n < 0 {
		return nil
	}
	return int64(n)
}

// WallOutlines is the layer of the outlines of walls beneath the roofs, of
// those buildings of which all sides are seen.
func WallOutlines() Layer {
	return Layer{
		Name: "wall_outlines", Title: "Building outlines, walls",
		Description: "Outlines of the walls beneath the roofs, only of buildings of which the façade of every side is seen. No boundary survey.",
		Geometry:    Polygon,
		Columns: []Column{
			{Name: "building_id", Title: "Building", Description: "Identifier of the footprint.", Type: Text},
			{
				Name: "reference", Title: "Horizontal geometry reference",
				Description: "Which part of the building the outline follows, an INSPIRE HorizontalGeometryReferenceValue.", Type: Text,
				Values: []Value{{vector.FootPrint, "captured by the walls near the ground"}},
			},
		},
		rows: wallRows,
	}
}

func wallRows(d vector.Delivery, yield func(Row) bool) {
	for _, f := range d.Footprints {
		if f.Walls != nil && !yield(Row{polygon(f.Walls), []any{f.ID, vector.FootPrint}}) {
			return
		}
	}
}

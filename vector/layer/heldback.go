package layer

import (
	"math"

	"quoin/vector"
)

// HeldBack is the layer of what was found above ground and not delivered.
func HeldBack() Layer {
	return Layer{
		Name: "held_back", Title: "Held back",
		Description: "What was found above ground and not delivered as a building, with the reason.",
		Geometry:    Polygon,
		Columns: []Column{
			{Name: "reason", Title: "Reason", Description: "Why it was not delivered.", Type: Text},
			{Name: "height", Title: "Height", Description: "Height above ground.", Type: Real, Quantity: GridHeight, Decimals: coordinateDecimals},
			{Name: "area_m2", Title: "Area in square metres", Description: "Area on the grid of the CRS.", Type: Real, Quantity: SquareMetres, Decimals: coordinateDecimals},
			{Name: "area", Title: "Area", Description: "Area on the grid of the CRS.", Type: Real, Quantity: GridArea, Decimals: coordinateDecimals},
			{Name: "point_count", Title: "Points", Description: "Number of points in it.", Type: Integer},
		},
		rows: heldBackRows,
	}
}

func heldBackRows(d vector.Delivery, yield func(Row) bool) {
	metres := d.CRS.Horizontal.Metres
	if metres <= 0 {
		metres = math.NaN()
	}
	for _, h := range d.HeldBack {
		ok := yield(Row{polygon(h.Polygon), []any{
			string(h.Reason), number(h.Height), number(h.Area * metres * metres), number(h.Area), int64(h.PointCount),
		}})
		if !ok {
			return
		}
	}
}

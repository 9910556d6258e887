// Package layout lays out the simulated blocks: land, roads, buildings, plants
// and clutter, kind by kind, from a seed.
//
// Kinds lists them; Lay gives a Site, which is not flown yet and knows no CRS.
// Lengths are metres about the block's middle: x east, y north, z up.
package layout

import "quoin/extract/scene/flight"

// A Kind is a named kind of block.
type Kind struct {
	Name string
	// Purpose is one line on what it puts to the test.
	Purpose string
	// Extent is its size in metres, east and north.
	Extent [2]float64
	// Scanner is what it is flown with unless the spec says otherwise.
	Scanner flight.Kind

	lay func(*Site)
}

// Demo is the name of the default block.
const Demo = "demo"

// Kinds lists the blocks that can be laid out, the demo block first.
func Kinds() []Kind {
	small, wide := [2]float64{100, 100}, [2]float64{120, 110}
	return []Kind{
		{Demo, "a village on a slope: houses of many forms, row houses, a school, a hall", [2]float64{216, 204}, flight.LineScanner, layDemo},
		{"street", "a street on a slope: ten houses of many forms, sheds, trees, cars", [2]float64{130, 130}, flight.LineScanner, layStreet},
		{"suburb", "detached gables and hips with dormers, panels, sheds and garages", small, flight.LineScanner, laySuburb},
		{"rows", "row houses with party walls, height steps and offset façades", small, flight.LineScanner, layRows},
		{"wings", "L, T, U, cross, comb and stair-step plans", small, flight.RotatingBeams, layWings},
		{"courts", "courtyards, one inside another", small, flight.LineScanner, layCourts},
		{"halls", "flat halls to a hundred metres with parapets and plant, trucks", wide, flight.OscillatingMirror, layHalls},
		{"gardens", "houses among trees that hang over the roofs, clipped hedges", small, flight.LineScanner, layGardens},
		{"hillside", "slopes to thirty degrees, terraces, houses dug into the hill", small, flight.RotatingBeams, layHillside},
		{"yard", "trucks and stacked containers, two buildings", small, flight.LineScanner, layYard},
		{"forest", "a wood on uneven land, no building", small, flight.LineScanner, layForest},
		{"skew", "skewed walls, bays, round towers, polygons", small, flight.LineScanner, laySkew},
		{"works", "saw-tooth, vault, dome, glass and metal roofs, tanks, stockpiles, a crane", small, flight.OscillatingMirror, layWorks},
		{"fair", "tents, bridge, power line, fences, pools, stockpiles, a carport; few buildings", small, flight.LineScanner, layFair},
		{"real", "roofs raised on plans of real buildings", wide, flight.RotatingBeams, layReal},
	}
}

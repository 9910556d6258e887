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
	return []Kind{
		{Demo, "a street on a slope: houses of many forms, sheds, trees, cars", [2]float64{130, 130}, flight.LineScanner, layDemo},
	}
}

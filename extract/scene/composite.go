package scene

import "quoin/extract/scene/flight"

// A Composite is a named kind of block.
type Composite struct {
	Name string
	// Purpose is one line on what it puts to the test.
	Purpose string
	// Extent is its size in metres, east and north.
	Extent [2]float64
	// Scanner is what it is flown with unless the spec says otherwise.
	Scanner flight.Kind

	layout func(*site)
}

// Demo is the name of the default block.
const Demo = "demo"

// Composites lists the blocks that can be simulated, the demo block first.
func Composites() []Composite {
	return []Composite{
		{Demo, "a street on a slope: houses of many forms, sheds, trees, cars", [2]float64{130, 130}, flight.LineScanner, layDemo},
	}
}

func compositeOf(name string) (Composite, bool) {
	for _, c := range Composites() {
		if c.Name == name {
			return c, true
		}
	}
	return Composite{}, false
}

func names() []string {
	var all []string
	for _, c := range Composites() {
		all = append(all, c.Name)
	}
	return all
}

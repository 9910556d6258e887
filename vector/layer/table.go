package layer

import (
	"slices"

	"quoin/vector"
)

// A Table is a layer with its features at hand: those of a delivery, or those
// read back from a file.
type Table struct {
	Layer Layer
	Rows  []Row
	// Z has, for each row, an elevation for each position of its geometry, ring
	// after ring, closing positions included; nil for a row, or for all, that is
	// flat.
	Z [][]float64
}

// Tables returns all layers of a delivery with their features.
func Tables(d vector.Delivery) []Table {
	var tables []Table
	for _, l := range All() {
		tables = append(tables, Table{Layer: l, Rows: slices.Collect(l.Rows(d))})
	}
	return tables
}

// Named returns the layer of that name as deliveries have it, and whether there
// is one.
func Named(name string) (Layer, bool) {
	for _, l := range All() {
		if l.Name == name {
			return l, true
		}
	}
	return Layer{}, false
}

// Column returns the position of a column; -1 where there is none.
func (l Layer) Column(name string) int {
	return slices.IndexFunc(l.Columns, func(c Column) bool { return c.Name == name })
}

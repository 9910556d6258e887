package dxf

import (
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"strconv"

	"github.com/paulmach/orb"

	"quoin/vector/atomicfile"
	"quoin/vector/layer"
)

// WriteCornerList creates a CSV file at path with the corners of a delivery in the
// order that land surveyors use: point, northing, easting, elevation,
// description. Points are numbered from 1; an unknown elevation is left empty.
// Coordinates have four decimals in the unit of the CRS.
func WriteCornerList(path string, corners layer.Table) error {
	err := atomicfile.Write(path, func(w io.Writer) error {
		out := csv.NewWriter(w)
		out.Write([]string{"point", "northing", "easting", "elevation", "description"})
		for i, r := range corners.Rows {
			p, ok := r.Geometry.(orb.Point)
			if !ok {
				continue
			}
			elevation := ""
			if z := value(corners.Layer, r, "elevation"); !math.IsNaN(z) {
				elevation = fixed(z)
			}
			description := "roof corner " + words(corners.Layer, r, "building_id")
			if kind := words(corners.Layer, r, "kind"); kind != "" {
				description += " " + kind
			}
			out.Write([]string{strconv.Itoa(i + 1), fixed(p[1]), fixed(p[0]), elevation, description})
		}
		out.Flush()
		return out.Error()
	})
	if err != nil {
		return fmt.Errorf("dxf: write %s: %w", path, err)
	}
	return nil
}

func fixed(v float64) string { return strconv.FormatFloat(v, 'f', 4, 64) }

// Package formats writes a delivery into the files that receivers open, each in
// its own format, and says what each holds.
package formats

import (
	"fmt"
	"slices"
	"strings"

	"quoin/vector/gdal"
)

// A Format is a format of files, by the name that users give.
type Format string

// The formats.
const (
	GeoPackage   Format = "gpkg"
	GeoJSON      Format = "geojson"
	GeoJSONLines Format = "geojsonl"
	FlatGeobuf   Format = "fgb"
	GeoParquet   Format = "parquet"
	Shapefile    Format = "shp"
	DXF          Format = "dxf"
)

// All returns the formats in the order in which they are written.
func All() []Format {
	return []Format{GeoPackage, GeoJSON, GeoJSONLines, FlatGeobuf, GeoParquet, Shapefile, DXF}
}

// Default returns those that are written when nothing is said.
func Default() []Format { return []Format{GeoPackage, GeoJSON} }

// Names returns the names of formats with commas between them.
func Names(list []Format) string {
	names := make([]string, len(list))
	for i, f := range list {
		names[i] = string(f)
	}
	return strings.Join(names, ",")
}

// Parse returns the formats of the given names, each once, in the order in
// which they are written. No name at all, an unknown one, and one that this
// program was built without are errors.
func Parse(names []string) ([]Format, error) {
	asked := map[Format]bool{}
	for _, name := range names {
		f := Format(strings.ToLower(strings.TrimSpace(name)))
		switch {
		case !slices.Contains(All(), f):
			return nil, fmt.Errorf("format %q is not known: there are %s", name, Names(All()))
		case (f == FlatGeobuf || f == Shapefile) && !gdal.Built:
			return nil, fmt.Errorf("format %s needs the GDAL library, which this program was built without", f)
		}
		asked[f] = true
	}
	if len(asked) == 0 {
		return nil, fmt.Errorf("no format given: there are %s", Names(All()))
	}
	return slices.DeleteFunc(All(), func(f Format) bool { return !asked[f] }), nil
}

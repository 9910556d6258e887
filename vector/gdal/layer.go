package gdal

import (
	"fmt"
	"path/filepath"

	"github.com/paulmach/orb"
)

// A Layer is a table of features.
type Layer struct {
	Name string
	// CRS is the well-known text; empty where the file says none.
	CRS string
	// Fields are the names of the columns.
	Fields   []string
	Features []Feature
}

// A Feature is a row of a layer.
type Feature struct {
	ID int64
	// Geometry is nil for none. Curves are made lines; heights are left out.
	Geometry orb.Geometry
	// Z is the height of a point; NaN where it has none, and for other geometries.
	Z float64
	// Values has one entry a field: nil, int64, float64 or string.
	Values []any
}

// ReadLayers returns all layers of a vector file: Shapefile, GeoPackage, GeoJSON,
// FlatGeobuf, DXF, GML, MapInfo or CSV. All features are held in memory.
//
// Errors are *fs.PathError where there is no such file, and *Error.
func ReadLayers(path string) ([]Layer, error) {
	name, err := local(path)
	if err != nil {
		return nil, fmt.Errorf("gdal: %w", err)
	}
	data, err := openVectors(name)
	if err != nil {
		return nil, named(err, "open", path)
	}
	defer data.close()
	layers, err := data.layers()
	return layers, named(err, "read", path)
}

// Translate writes the layers of a vector file to path with the arguments of
// GDAL's program for it (GDALVectorTranslate), as -f FlatGeobuf. What path
// holds when an error is returned is undefined: give a temporary name.
func Translate(path, from string, args ...string) error {
	name, err := local(from)
	if err != nil {
		return fmt.Errorf("gdal: %w", err)
	}
	to, err := filepath.Abs(path)
	if err != nil {
		return fmt.Errorf("gdal: %w", err)
	}
	data, err := openVectors(name)
	if err != nil {
		return named(err, "open", from)
	}
	err = data.translate(to, args)
	if e := data.close(); err == nil {
		err = e
	}
	return named(err, "write", path)
}

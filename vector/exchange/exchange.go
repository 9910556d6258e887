// Package exchange writes layers in the formats that the GDAL library keeps:
// FlatGeobuf, and Shapefile with what its tables can hold.
//
// Each layer becomes a file of its own. Files go through a GeoPackage that is
// made for the purpose, so that they hold what every other format holds.
package exchange

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"quoin/vector/gdal"
	"quoin/vector/gpkg"
	"quoin/vector/layer"
)

// FlatGeobuf writes a file NAME.fgb for each layer with geometries into a folder
// that exists. definition is the CRS as well-known text. It returns what the
// format can't hold. Files that are there are replaced, one by one: give a folder
// that nobody reads yet.
//
// Features come in the order of the format's index, along a Hilbert curve. A
// table without geometries is left out, which GDAL can't write, and one without
// features, of which GDAL does not write the same bytes each time.
func FlatGeobuf(ctx context.Context, folder string, s layer.Set, definition string) ([]string, error) {
	var notes []string
	var kept []layer.Table
	for _, t := range s.Tables {
		if t.Layer.Geometry == layer.None {
			notes = append(notes, fmt.Sprintf("FlatGeobuf: %s is left out: it has no geometries", t.Layer.Name))
			continue
		}
		if len(t.Rows) == 0 {
			notes = append(notes, fmt.Sprintf("FlatGeobuf: %s is left out: it has no features", t.Layer.Name))
			continue
		}
		kept = append(kept, t)
	}
	s.Tables = kept
	err := translate(ctx, folder, s, definition, func(t layer.Table) (string, []string) {
		return t.Layer.Name + ".fgb", []string{"-f", "FlatGeobuf"}
	})
	if err != nil {
		return nil, fmt.Errorf("exchange: FlatGeobuf: %w", err)
	}
	return notes, nil
}

// translate writes the tables with the arguments that say how.
func translate(ctx context.Context, folder string, s layer.Set, definition string, how func(layer.Table) (name string, args []string)) error {
	if !gdal.Built {
		return gdal.ErrNotBuilt
	}
	temporary, err := os.MkdirTemp(folder, ".source-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(temporary)
	source := filepath.Join(temporary, "layers.gpkg")
	if err := gpkg.Write(ctx, source, s, gpkg.Options{SRSDefinition: definition}); err != nil {
		return err
	}
	for _, t := range s.Tables {
		if err := ctx.Err(); err != nil {
			return err
		}
		name, args := how(t)
		path := filepath.Join(folder, name)
		if err := os.Remove(path); err != nil && !os.IsNotExist(err) {
			return err
		}
		if withZ, _ := t.Solid(); withZ > 0 {
			args = append(args, "-dim", "XYZ")
		}
		if err := gdal.Translate(path, source, append(args, "-nln", stem(name), t.Layer.Name)...); err != nil {
			return fmt.Errorf("%s: %w", t.Layer.Name, err)
		}
	}
	return nil
}

func stem(name string) string { return strings.TrimSuffix(name, filepath.Ext(name)) }

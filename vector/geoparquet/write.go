package geoparquet

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"reflect"

	"github.com/parquet-go/parquet-go"
	"github.com/paulmach/orb"

	"quoin/vector"
	"quoin/vector/atomicfile"
	"quoin/vector/crs"
	"quoin/vector/layer"
	"quoin/vector/wkb"
)

// The names of the columns that a file has besides those of the layer.
const (
	geometryColumn = "geometry"
	boxColumn      = "bbox"
)

// rowGroup is how many features are compressed together.
const rowGroup = 20_000

// box is the bounding box of a feature: the column that lets a reader skip what
// lies elsewhere.
type box struct {
	XMin float64 `parquet:"xmin"`
	YMin float64 `parquet:"ymin"`
	XMax float64 `parquet:"xmax"`
	YMax float64 `parquet:"ymax"`
}

// Write creates the file at path, or replaces it, with the features of one layer
// in the CRS c, with elevations where the table has them: the columns of the layer, then geometry and bbox where the layer
// has geometries. Unknown values are null. The file has no CRS where c is
// unknown ("crs": null, by which the standard means just that).
//
// Errors are those of a CRS that PROJJSON cannot say and of writing. The file
// appears whole or not at all; the same features give the same bytes.
func Write(ctx context.Context, path string, t layer.Table, c vector.CRS) error {
	row := rowType(t.Layer)
	options := []parquet.WriterOption{
		parquet.NewSchema(t.Layer.Name, parquet.SchemaOf(reflect.New(row).Elem().Interface())),
		parquet.Compression(&parquet.Zstd),
		parquet.CreatedBy("quoin", vector.SchemaVersion, ""),
		parquet.MaxRowsPerRowGroup(rowGroup),
	}
	if t.Layer.Geometry != layer.None {
		about, err := describe(t, c)
		if err != nil {
			return fmt.Errorf("geoparquet: write %s: %w", path, err)
		}
		options = append(options, parquet.KeyValueMetadata("geo", about))
	}
	err := atomicfile.Write(path, func(w io.Writer) error {
		out := parquet.NewWriter(w, options...)
		for i := range t.Rows {
			if err := ctx.Err(); err != nil {
				return err
			}
			v, err := fill(row, t, i)
			if err != nil {
				return fmt.Errorf("row %d: %w", i+1, err)
			}
			if err := out.Write(v); err != nil {
				return err
			}
		}
		return out.Close()
	})
	if err != nil {
		return fmt.Errorf("geoparquet: write %s: %w", path, err)
	}
	return nil
}

var types = [...]reflect.Type{
	layer.Text: reflect.TypeFor[string](), layer.Real: reflect.TypeFor[float64](),
	layer.Integer: reflect.TypeFor[int64](), layer.Boolean: reflect.TypeFor[bool](),
}

// rowType returns a struct with one field a column: a struct, because that keeps
// the columns in their order.
func rowType(l layer.Layer) reflect.Type {
	var fields []reflect.StructField
	add := func(name string, t reflect.Type) {
		fields = append(fields, reflect.StructField{
			Name: fmt.Sprintf("C%d", len(fields)), Type: reflect.PointerTo(t),
			Tag: reflect.StructTag(`parquet:"` + name + `,optional"`),
		})
	}
	for _, c := range l.Columns {
		add(c.Name, types[c.Type])
	}
	if l.Geometry != layer.None {
		fields = append(fields, reflect.StructField{
			Name: "Geometry", Type: reflect.TypeFor[[]byte](), Tag: `parquet:"geometry,optional"`,
		})
		add(boxColumn, reflect.TypeFor[box]())
	}
	return reflect.StructOf(fields)
}

// fill returns a pointer to the row's struct.
func fill(t reflect.Type, table layer.Table, row int) (any, error) {
	out, r := reflect.New(t), table.Rows[row]
	for i := range table.Layer.Columns {
		if r.Values[i] == nil {
			continue
		}
		v := reflect.New(t.Field(i).Type.Elem())
		v.Elem().Set(reflect.ValueOf(r.Values[i]))
		out.Elem().Field(i).Set(v)
	}
	if r.Geometry == nil {
		return out.Interface(), nil
	}
	bytes, err := wkb.Append(nil, r.Geometry, table.Elevations(row))
	if err != nil {
		return nil, err
	}
	out.Elem().FieldByName("Geometry").SetBytes(bytes)
	b := r.Geometry.Bound()
	out.Elem().Field(t.NumField() - 1).Set(reflect.ValueOf(&box{b.Min[0], b.Min[1], b.Max[0], b.Max[1]}))
	return out.Interface(), nil
}

// The metadata of GeoParquet 1.1, in the order in which the standard tells them.
type about struct {
	Version string                 `json:"version"`
	Primary string                 `json:"primary_column"`
	Columns map[string]aboutColumn `json:"columns"`
}

type aboutColumn struct {
	Encoding    string          `json:"encoding"`
	Types       []string        `json:"geometry_types"`
	CRS         json.RawMessage `json:"crs"`
	Orientation string          `json:"orientation,omitempty"`
	Edges       string          `json:"edges"`
	Box         []float64       `json:"bbox,omitempty"`
	Covering    covering        `json:"covering"`
}

type covering struct {
	Box map[string][2]string `json:"bbox"`
}

var geometryTypes = map[layer.Geometry]string{layer.Point: "Point", layer.Line: "LineString", layer.Polygon: "Polygon"}

// kinds lists the types that occur, as the standard asks.
func kinds(t layer.Table) []string {
	list := []string{}
	withZ, placed := t.Solid()
	if placed > withZ {
		list = append(list, geometryTypes[t.Layer.Geometry])
	}
	if withZ > 0 {
		list = append(list, geometryTypes[t.Layer.Geometry]+" Z")
	}
	return list
}

func describe(t layer.Table, c vector.CRS) (string, error) {
	column := aboutColumn{
		Encoding: "WKB", Types: kinds(t), CRS: json.RawMessage("null"), Edges: "planar",
		Covering: covering{map[string][2]string{}},
	}
	if t.Layer.Geometry == layer.Polygon {
		column.Orientation = "counterclockwise"
	}
	for _, side := range []string{"xmin", "ymin", "xmax", "ymax"} {
		column.Covering.Box[side] = [2]string{boxColumn, side}
	}
	if c.Known() {
		definition, err := crs.PROJJSON(c)
		if err != nil {
			return "", err
		}
		column.CRS = json.RawMessage(definition)
	}
	if b, ok := bound(t.Rows); ok {
		column.Box = []float64{b.Min[0], b.Min[1], b.Max[0], b.Max[1]}
	}
	text, err := json.Marshal(about{Version: "1.1.0", Primary: geometryColumn, Columns: map[string]aboutColumn{geometryColumn: column}})
	return string(text), err
}

func bound(rows []layer.Row) (b orb.Bound, ok bool) {
	for _, r := range rows {
		switch {
		case r.Geometry == nil:
		case !ok:
			b, ok = r.Geometry.Bound(), true
		default:
			b = b.Union(r.Geometry.Bound())
		}
	}
	return b, ok
}

package geoparquet

import (
	"bytes"
	"context"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/parquet-go/parquet-go"
	"github.com/paulmach/orb"

	"quoin/vector"
	"quoin/vector/crs"
	"quoin/vector/layer"
	"quoin/vector/nodetest"
)

var (
	house = orb.Polygon{
		{{500000.1234, 5800000}, {500012, 5800000}, {500012, 5800008}, {500000.1234, 5800008}, {500000.1234, 5800000}},
		{{500004, 5800002}, {500004, 5800004}, {500006, 5800004}, {500006, 5800002}, {500004, 5800002}},
	}
	columns = []layer.Column{
		{Name: "building_id", Type: layer.Text},
		{Name: "height", Type: layer.Real},
		{Name: "points", Type: layer.Integer},
		{Name: "seen", Type: layer.Boolean},
	}
)

func table() layer.Table {
	return layer.Table{
		Layer: layer.Layer{Name: "footprints", Geometry: layer.Polygon, Columns: columns},
		Rows: []layer.Row{
			{Geometry: house, Values: []any{"a1", 4.25, int64(120), true}},
			{Geometry: orb.Polygon{house[0]}, Values: []any{"b2", nil, nil, nil}},
			{Values: []any{"c3", 1.0, int64(0), false}},
		},
	}
}

func known(t *testing.T) vector.CRS {
	t.Helper()
	c, err := crs.Parse("EPSG:25832")
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func written(t *testing.T, tab layer.Table, c vector.CRS) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "a.parquet")
	if err := Write(t.Context(), path, tab, c); err != nil {
		t.Fatal(err)
	}
	return path
}

func TestRoundTrip(t *testing.T) {
	got, err := Read(written(t, table(), known(t)))
	if err != nil {
		t.Fatal(err)
	}
	want := Polygons{
		Polygons: []orb.Polygon{house, {house[0]}}, IDs: []string{"a1", "b2"},
		CRS: vector.CRS{Name: "ETRS89 / UTM zone 32N", Authority: "EPSG", Code: 25832},
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

// The members that GeoParquet 1.1.0 asks for, from its text: version,
// primary_column, columns with encoding and geometry_types; crs null where it
// is not known.
func TestMetadata(t *testing.T) {
	for _, c := range []struct {
		name string
		crs  vector.CRS
		null bool
	}{{"known", known(t), false}, {"unknown", vector.CRS{Horizontal: vector.Metre}, true}} {
		t.Run(c.name, func(t *testing.T) {
			in, err := os.Open(written(t, table(), c.crs))
			if err != nil {
				t.Fatal(err)
			}
			defer in.Close()
			size, _ := in.Stat()
			file, err := parquet.OpenFile(in, size.Size())
			if err != nil {
				t.Fatal(err)
			}
			text, _ := file.Lookup("geo")
			var geo map[string]any
			if err := json.Unmarshal([]byte(text), &geo); err != nil {
				t.Fatal(err)
			}
			column := geo["columns"].(map[string]any)["geometry"].(map[string]any)
			if geo["version"] != "1.1.0" || geo["primary_column"] != "geometry" || column["encoding"] != "WKB" {
				t.Errorf("metadata %v", geo)
			}
			if diff := cmp.Diff([]any{500000.1234, 5800000.0, 500012.0, 5800008.0}, column["bbox"]); diff != "" {
				t.Error(diff)
			}
			if (column["crs"] == nil) != c.null {
				t.Errorf("crs %v", column["crs"])
			}
			var names []string
			for _, f := range file.Schema().Fields() {
				names = append(names, f.Name())
			}
			if got := strings.Join(names, " "); got != "building_id height points seen geometry bbox" {
				t.Errorf("columns %s", got)
			}
		})
	}
}

func TestSameBytes(t *testing.T) {
	a, _ := os.ReadFile(written(t, table(), known(t)))
	b, _ := os.ReadFile(written(t, table(), known(t)))
	if len(a) == 0 || !bytes.Equal(a, b) {
		t.Error("the same features gave other bytes")
	}
}

func TestReadRefuses(t *testing.T) {
	good, err := os.ReadFile(written(t, table(), known(t)))
	if err != nil {
		t.Fatal(err)
	}
	plain := table()
	plain.Layer.Geometry = layer.None
	for i := range plain.Rows {
		plain.Rows[i].Geometry = nil
	}
	attributes, err := os.ReadFile(written(t, plain, known(t)))
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name string
		in   []byte
		want string
	}{
		{"empty", nil, ""},
		{"text", []byte("point,northing,easting\n"), ""},
		{"cut", good[:len(good)/2], ""},
		{"no geometry", attributes, "not GeoParquet"},
		{"metadata of 4 GB", append(bytes.Clone(good[:len(good)-8]), "\xff\xff\xff\xffPAR1"...), "damaged: metadata of 4294967295 bytes"},
	} {
		t.Run(c.name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "a.parquet")
			if err := os.WriteFile(path, c.in, 0o600); err != nil {
				t.Fatal(err)
			}
			if _, err := Read(path); err == nil || !strings.Contains(err.Error(), c.want) || !strings.Contains(err.Error(), path) {
				t.Errorf("got %v", err)
			}
		})
	}
}

// FuzzRead holds that no file makes the reader panic.
func FuzzRead(f *testing.F) {
	path := filepath.Join(f.TempDir(), "seed.parquet")
	if err := Write(context.Background(), path, table(), vector.CRS{}); err != nil {
		f.Fatal(err)
	}
	seed, err := os.ReadFile(path)
	if err != nil {
		f.Fatal(err)
	}
	f.Add(seed)
	folder := f.TempDir()
	f.Fuzz(func(t *testing.T, in []byte) {
		name := filepath.Join(folder, "a.parquet")
		if err := os.WriteFile(name, in, 0o600); err != nil {
			t.Fatal(err)
		}
		p, err := Read(name)
		if err == nil && len(p.Polygons) != len(p.IDs) {
			t.Fatalf("%d polygons with %d identifiers", len(p.Polygons), len(p.IDs))
		}
	})
}

// A second reader, hyparquet, finds the same features.
func TestSecondReader(t *testing.T) {
	node, modules := nodetest.Install(t, "hyparquet@1.33.0", "hyparquet-compressors@1.1.2")
	out, err := exec.Command(node, "testdata/read.mjs", modules, written(t, table(), known(t))).Output()
	if err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	want := `["a1",4.25,120,true,{"type":"Polygon","coordinates":[[[500000.1234,5800000],[500012,5800000],[500012,5800008],[500000.1234,5800008],[500000.1234,5800000]],[[500004,5800002],[500004,5800004],[500006,5800004],[500006,5800002],[500004,5800002]]]},{"xmin":500000.1234,"ymin":5800000,"xmax":500012,"ymax":5800008}]
["b2",null,null,null,{"type":"Polygon","coordinates":[[[500000.1234,5800000],[500012,5800000],[500012,5800008],[500000.1234,5800008],[500000.1234,5800000]]]},{"xmin":500000.1234,"ymin":5800000,"xmax":500012,"ymax":5800008}]
["c3",1,0,false,null,null]
`
	if diff := cmp.Diff(want, string(out)); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

package gpkg

import (
	"slices"
	"strings"
	"testing"

	"quoin/vector"
)

func TestReadPoints(t *testing.T) {
	d := delivery()
	path := write(t, d, Options{})
	p, err := ReadPoints(path, "corners")
	if err != nil {
		t.Fatal(err)
	}
	corners := d.Corners()
	if len(p.Points) != len(corners) || len(p.Rows) != len(corners) || p.CRS.Code != d.CRS.Code {
		t.Fatalf("%d points, want %d", len(p.Points), len(corners))
	}
	id, kind := slices.Index(p.Names, "building_id"), slices.Index(p.Names, "kind")
	if id < 0 || kind < 0 || slices.Contains(p.Names, geometryColumn) {
		t.Fatalf("columns %q", p.Names)
	}
	for i, c := range corners {
		if p.Points[i] != c.Point || p.Rows[i][id] != c.BuildingID || p.Rows[i][kind] != string(c.Kind) {
			t.Errorf("%v %q, want %+v", p.Points[i], p.Rows[i], c)
		}
	}
	for layer, want := range map[string]string{"": "4 layers of points", "walls": `no layer "walls"`, "footprints": "no point"} {
		if _, err := ReadPoints(path, layer); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("layer %q: %v, want %q", layer, err, want)
		}
	}
	only := edited(t, "DELETE FROM gpkg_geometry_columns WHERE table_name IN ('arcs', 'corner_checks', 'image_checks')")
	if p, err := ReadPoints(only, ""); err != nil || len(p.Points) != len(corners) {
		t.Errorf("the only layer: %d points, %v", len(p.Points), err)
	}
}

// TestFurtherMetadata writes a record of another standard beside the lineage.
func TestFurtherMetadata(t *testing.T) {
	d := delivery()
	d.Metadata = []vector.Metadata{{Standard: "http://example.org/standard", MIME: "text/xml", Text: "<a/>"}}
	path := write(t, d, Options{})
	db, err := open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	var uri, text, scope string
	err = db.QueryRow("SELECT md_standard_uri, metadata, reference_scope FROM gpkg_metadata m JOIN gpkg_metadata_reference r ON r.md_file_id = m.id WHERE m.id = 2").Scan(&uri, &text, &scope)
	if err != nil || uri != "http://example.org/standard" || text != "<a/>" || scope != "geopackage" {
		t.Errorf("%q %q %q %v", uri, text, scope, err)
	}
}

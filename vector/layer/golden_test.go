package layer_test

import (
	"context"
	"encoding/hex"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"quoin/vector"
	"quoin/vector/geojson"
	"quoin/vector/gpkg"
	"quoin/vector/layer"
)

var update = flag.Bool("update", false, "rewrite the golden files and the tables of docs/formats.md")

// footprints is their layer.
func footprints(d vector.Delivery) layer.Table {
	t, _ := layer.Of(d).Table("footprints")
	return t
}

const goldenFolder = "../../testdata/layers"

// golden compares got with the file of the name, or writes it with -update.
func golden(t *testing.T, name string, got []byte) {
	t.Helper()
	path := filepath.Join(goldenFolder, name)
	if *update {
		if err := os.WriteFile(path, got, 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(string(want), string(got)); diff != "" {
		t.Errorf("%s (-want +got):\n%s", name, diff)
	}
}

// The files that the small delivery gives. A GeoPackage is compared as a
// listing of its tables, as its bytes carry the version of the database
// library.
func TestGolden(t *testing.T) {
	folder := t.TempDir()
	path := func(name string) string { return filepath.Join(folder, name) }
	if err := geojson.Write(context.Background(), path("a"), small(), toDegrees); err != nil {
		t.Fatal(err)
	}
	if err := geojson.WriteProjected(context.Background(), path("b"), footprints(small()), small().CRS); err != nil {
		t.Fatal(err)
	}
	if err := gpkg.Write(context.Background(), path("c"), layer.Of(small()), gpkg.Options{}); err != nil {
		t.Fatal(err)
	}
	files := map[string][]byte{"footprints.gpkg.txt": []byte(listing(t, path("c")))}
	for name, from := range map[string]string{"footprints.geojson": "a", "footprints.projected.geojson": "b"} {
		b, err := os.ReadFile(path(from))
		if err != nil {
			t.Fatal(err)
		}
		files[name] = b
	}
	for name, got := range files {
		golden(t, name, got)
	}
	entries, err := os.ReadDir(goldenFolder)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		if _, ok := files[e.Name()]; !ok && e.Name() != "README.md" {
			t.Errorf("no test gives %s", e.Name())
		}
	}
}

// listing is all that is in a GeoPackage: the schema, then each table's rows.
func listing(t *testing.T, path string) string {
	t.Helper()
	var b strings.Builder
	var tables []string
	for _, row := range query(t, path, "SELECT type, name, sql FROM sqlite_master WHERE sql IS NOT NULL AND name NOT LIKE 'rtree%_node' AND name NOT LIKE 'rtree%_rowid' AND name NOT LIKE 'rtree%_parent' ORDER BY type, name") {
		fmt.Fprintf(&b, "%s;\n", row["sql"])
		if row["type"] == "table" {
			tables = append(tables, row["name"].(string))
		}
	}
	for _, table := range tables {
		fmt.Fprintf(&b, "\n-- %s\n", table)
		for _, row := range query(t, path, `SELECT * FROM "`+table+`" ORDER BY 1, 2`) {
			var names []string
			for name := range row {
				names = append(names, name)
			}
			slices.Sort(names)
			for i, name := range names {
				if i > 0 {
					b.WriteString(" | ")
				}
				v := row[name]
				if blob, ok := v.([]byte); ok {
					v = hex.EncodeToString(blob)
				}
				fmt.Fprintf(&b, "%s=%v", name, v)
			}
			b.WriteByte('\n')
		}
	}
	return b.String()
}

// docs/formats.md has the columns of each layer in a table, between two marks.
func TestDocsListTheColumns(t *testing.T) {
	const path = "../../docs/formats.md"
	page, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	text := string(page)
	for _, l := range layer.All() {
		begin, end := "<!-- columns of "+l.Name+" -->\n", "<!-- end of "+l.Name+" -->"
		from, to := strings.Index(text, begin), strings.Index(text, end)
		if from < 0 || to < from {
			t.Fatalf("the page has no marks for %s", l.Name)
		}
		from += len(begin)
		if want := columnTable(l); *update {
			text = text[:from] + want + text[to:]
		} else if diff := cmp.Diff(want, text[from:to]); diff != "" {
			t.Errorf("%s: run go test ./vector/layer -update (-want +got):\n%s", l.Name, diff)
		}
	}
	if *update {
		if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

func columnTable(l layer.Layer) string {
	types := map[layer.Type]string{layer.Text: "TEXT", layer.Real: "REAL", layer.Integer: "INTEGER", layer.Boolean: "BOOLEAN"}
	units := map[layer.Quantity]string{
		layer.GridLength: "horizontal unit of the CRS", layer.GridArea: "its square", layer.GridCovariance: "its square",
		layer.GridHeight: "vertical unit of the CRS", layer.Metres: "metre", layer.SquareMetres: "square metre", layer.Degrees: "degree",
	}
	var b strings.Builder
	b.WriteString("| column | type | unit | what it holds |\n|---|---|---|---|\n")
	for _, c := range l.Columns {
		what := c.Description
		for _, v := range c.Values {
			what += " `" + v.Name + "`: " + v.Meaning + "."
		}
		fmt.Fprintf(&b, "| `%s` | %s | %s | %s |\n", c.Name, types[c.Type], units[c.Quantity], what)
	}
	return b.String()
}

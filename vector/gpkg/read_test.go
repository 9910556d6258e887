package gpkg

import (
	"database/sql"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"quoin/vector"
)

// edited returns a file of quoin's after the statements have run on it.
func edited(t *testing.T, statements string) string {
	t.Helper()
	path := write(t, delivery(), Options{})
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	// The triggers of the index need functions that only a GIS has.
	drop := ""
	for _, table := range []string{"footprints", "corners"} {
		for _, trigger := range []string{"update1", "update2", "update3", "update4"} {
			drop += "DROP TRIGGER " + rtreeName(table) + "_" + trigger + ";"
		}
	}
	if _, err := db.Exec(drop + statements); err != nil {
		t.Fatal(err)
	}
	return path
}

func TestReadPolygonsRefuses(t *testing.T) {
	folder := t.TempDir()
	file := func(name string, content []byte) string {
		path := filepath.Join(folder, name)
		if err := os.WriteFile(path, content, 0o644); err != nil {
			t.Fatal(err)
		}
		return path
	}
	whole, err := os.ReadFile(write(t, delivery(), Options{}))
	if err != nil {
		t.Fatal(err)
	}
	garbled := append(append([]byte{}, whole[:4096]...), make([]byte, len(whole)-4096)...)
	for _, c := range []struct{ name, path, layer, want string }{
		{"another kind of file", file("a", []byte("PK\x03\x04 and so on, for a while")), "", "no SQLite database"},
		{"empty", file("b", nil), "", "no SQLite database"},
		{"cut off", file("c", whole[:20000]), "", ""},
		{"zeros after the first page", file("d", garbled), "", ""},
		{"signature only", file("e", whole[:16]), "", ""},
		{"a database of something else", edited(t, "DROP TABLE gpkg_geometry_columns"), "", "not a GeoPackage with features"},
		{"no such layer", write(t, delivery(), Options{}), "walls", `no layer "walls": it has the layers arcs, corner_checks, corners, footprints, held_back, image_checks, roof_parts, sides, wall_outlines`},
		{"a layer of points", write(t, delivery(), Options{}), "corners", "is a Point, not a polygon"},
		{"several layers", edited(t, "DELETE FROM gpkg_contents WHERE table_name IN ('footprints', 'held_back', 'image_checks', 'roof_parts', 'wall_outlines')"), "", "say which layer to read: it has the layers arcs, corner_checks, corners, sides"},
		{"no layers", edited(t, "DELETE FROM gpkg_contents"), "", "it has no feature layers"},
		{"missing table", edited(t, "DROP TABLE held_back"), "held_back", "layer held_back"},
		{"missing reference system", edited(t, "DELETE FROM gpkg_spatial_ref_sys WHERE srs_id = 25832"), "", "reference system 25832"},
		{"text for a geometry", edited(t, "UPDATE footprints SET geom = 'here' WHERE fid = 2"), "", "not a GeoPackage geometry"},
		{"a geometry cut off", edited(t, "UPDATE footprints SET geom = substr(geom, 1, 60) WHERE fid = 2"), "", "feature b2 Žižkova <ü>: well-known binary ends too early"},
		{"a number for a geometry", edited(t, "UPDATE footprints SET geom = 7 WHERE fid = 2"), "", "not a GeoPackage geometry"},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, err := ReadPolygons(c.path, c.layer)
			if err == nil {
				t.Fatalf("read %v", got)
			}
			if !strings.Contains(err.Error(), c.want) || !strings.Contains(err.Error(), c.path) || strings.Contains(err.Error(), "\n") {
				t.Errorf("got %q, want it to say %q", err, c.want)
			}
		})
	}
}

func TestReadPolygonsOfNoFile(t *testing.T) {
	path := filepath.Join(t.TempDir(), "absent.gpkg")
	if _, err := ReadPolygons(path, ""); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("got %v", err)
	}
	if _, err := os.Stat(path); !errors.Is(err, fs.ErrNotExist) {
		t.Error("reading has made the file")
	}
}

func TestReadPolygonsTakesOddRows(t *testing.T) {
	got, err := ReadPolygons(edited(t, "UPDATE footprints SET building_id = NULL WHERE fid = 2; UPDATE footprints SET geom = NULL WHERE fid = 1"), "")
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff([]string{"2"}, got.IDs); diff != "" || len(got.Polygons) != 1 {
		t.Errorf("got %v", got)
	}
}

func TestReadCRS(t *testing.T) {
	for _, c := range []struct {
		name, edit string
		want       vector.CRS
	}{
		{"undefined Cartesian", "UPDATE gpkg_geometry_columns SET srs_id = -1", vector.CRS{}},
		{"undefined geographic", "UPDATE gpkg_geometry_columns SET srs_id = 0", vector.CRS{}},
		{"without definition", "UPDATE gpkg_spatial_ref_sys SET definition = 'undefined', organization = 'epsg' WHERE srs_id = 25832", vector.CRS{Name: utm32.Name, Authority: "EPSG", Code: 25832}},
		{"of nobody", "UPDATE gpkg_spatial_ref_sys SET organization = 'none', definition = 'LOCAL_CS[\"site\"]' WHERE srs_id = 25832", vector.CRS{Name: utm32.Name, WKT: `LOCAL_CS["site"]`}},
		{"in WKT 2", "ALTER TABLE gpkg_spatial_ref_sys ADD definition_12_063 TEXT; UPDATE gpkg_spatial_ref_sys SET definition_12_063 = 'PROJCRS[]' WHERE srs_id = 25832", vector.CRS{Name: utm32.Name, Authority: "EPSG", Code: 25832, WKT: "PROJCRS[]"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, err := ReadPolygons(edited(t, c.edit), "")
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(c.want, got.CRS); diff != "" {
				t.Errorf("(-want +got):\n%s", diff)
			}
		})
	}
}

func TestReadCornersRefuses(t *testing.T) {
	for _, c := range []struct{ name, edit, want string }{
		{"no layer", "DROP TABLE corners", "no layer of corners"},
		{"no geometry", "UPDATE corners SET geom = NULL WHERE fid = 3", "corner 3: "},
		{"a polygon", "UPDATE corners SET geom = (SELECT geom FROM footprints) WHERE fid = 3", "corner 3: no point geometry"},
		{"text for a number", "UPDATE corners SET sigma_e = 'small' WHERE fid = 3", "corner 3: "},
		{"no building", "UPDATE corners SET building_id = NULL WHERE fid = 3", "corner 3: "},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := ReadCorners(edited(t, c.edit))
			if err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("got %v, want it to say %q", err, c.want)
			}
			if errors.Is(err, ErrNoCorners) != (c.name == "no layer") {
				t.Errorf("got %v", err)
			}
		})
	}
}

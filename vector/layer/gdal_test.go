package layer_test

import (
	"context"
	"math"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/paulmach/orb"

	"quoin/vector/crs"
	"quoin/vector/geojson"
	"quoin/vector/gpkg"

	"quoin/vector/layer"
)

// The GeoPackage turned into RFC 7946 GeoJSON by GDAL against the GeoJSON
// written here: same buildings, same rings from the same start, positions
// within 10⁻⁸ degrees (1 mm; GDAL rounds to what it is told).
func TestGDALTurnsOneFileIntoTheOther(t *testing.T) {
	ogr2ogr, err := exec.LookPath("ogr2ogr")
	if err != nil {
		t.Skip("ogr2ogr is not installed: the files were not compared by GDAL")
	}
	for _, code := range []string{"EPSG:25832", "EPSG:32632"} {
		t.Run(code, func(t *testing.T) {
			d := small()
			if d.CRS, err = crs.Parse(code); err != nil {
				t.Fatal(err)
			}
			definition, err := crs.Definition(d.CRS, crs.WKT1)
			if err != nil {
				t.Fatal(err)
			}
			folder := t.TempDir()
			packaged, ours, theirs := filepath.Join(folder, "a.gpkg"), filepath.Join(folder, "ours.geojson"), filepath.Join(folder, "theirs.geojson")
			if err := gpkg.Write(context.Background(), packaged, layer.Of(d), gpkg.Options{SRSDefinition: definition}); err != nil {
				t.Fatal(err)
			}
			transformer, err := crs.NewTransformer(d.CRS, crs.WGS84(), d.Footprints[0].Polygon[0][0], crs.Options{})
			if err != nil {
				t.Fatal(err)
			}
			if err := geojson.Write(context.Background(), ours, d, transformer.Forward); err != nil {
				t.Fatal(err)
			}
			out, err := exec.Command(ogr2ogr, "-f", "GeoJSON", "-lco", "RFC7946=YES", "-lco", "COORDINATE_PRECISION=10", theirs, packaged, "footprints").CombinedOutput()
			if err != nil {
				t.Fatalf("%v\n%s", err, out)
			}
			want, err := geojson.ReadPolygons(theirs)
			if err != nil {
				t.Fatal(err)
			}
			got, err := geojson.ReadPolygons(ours)
			if err != nil {
				t.Fatal(err)
			}
			if len(got.IDs) != 2 || len(want.IDs) != 2 {
				t.Fatalf("got %v, GDAL %v", got.IDs, want.IDs)
			}
			for i := range want.IDs {
				if got.IDs[i] != want.IDs[i] || !near(got.Polygons[i], want.Polygons[i], 1e-8) {
					t.Errorf("got %s %v, GDAL %s %v", got.IDs[i], got.Polygons[i], want.IDs[i], want.Polygons[i])
				}
			}
		})
	}
}

// near reports whether the positions of the two are within the tolerance, one
// by one.
func near(a, b orb.Polygon, tolerance float64) bool {
	if len(a) != len(b) {
		return false
	}
	for i := range a {
		if len(a[i]) != len(b[i]) {
			return false
		}
		for j := range a[i] {
			if !(math.Abs(a[i][j][0]-b[i][j][0]) <= tolerance && math.Abs(a[i][j][1]-b[i][j][1]) <= tolerance) {
				return false
			}
		}
	}
	return true
}

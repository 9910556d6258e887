//go:build !nogdal

package formats_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/paulmach/orb"

	"quoin/vector"
	"quoin/vector/crs"
	"quoin/vector/formats"
	"quoin/vector/gdal"
	"quoin/vector/layer"
)

// block is an invented place with n houses.
func block(t testing.TB, n int) layer.Set {
	t.Helper()
	c, err := crs.Parse("EPSG:25832+7837")
	if err != nil {
		t.Fatal(err)
	}
	nan := math.NaN()
	d := vector.Delivery{CRS: c, Lineage: "Invented.", Time: time.Date(2026, 5, 17, 12, 0, 0, 0, time.UTC)}
	for i := range n {
		e, north := 500000.1234+30*float64(i), 5800000.5678
		f := vector.Footprint{
			ID: fmt.Sprintf("höf-%d", i), Reference: vector.RoofEdge, AreaSigma: 0.5, GroundElevation: 31.5, EaveHeight: 5.25, RidgeHeight: nan,
			PointCount: 1234, EdgeRMS: 0.0312, Quality: 0.875,
			Polygon: orb.Polygon{{{e, north}, {e + 10, north}, {e + 10, north + 8}, {e, north + 8}, {e, north}}},
		}
		if i%2 == 1 {
			f.Review = []vector.Reason{vector.ReviewSparse}
		}
		for k, p := range f.Polygon[0][:4] {
			f.Corners = append(f.Corners, vector.Corner{
				BuildingID: f.ID, Vertex: k, Point: p, Elevation: 36.75 + float64(k), SigmaE: 0.03, SigmaN: 0.04, CovEN: 0.000123456789, SigmaU: nan, AngleDeg: 90, Kind: vector.Adjusted,
			})
			f.Sides = append(f.Sides, vector.Side{Edge: k, Direction: -1, Offset: -1, From: p, To: f.Polygon[0][k+1], SigmaLength: 0.05, Overhang: nan, SigmaOverhang: nan, Low: nan, High: nan})
		}
		d.Footprints = append(d.Footprints, f)
	}
	d.Checks = []vector.CornerCheck{{ControlID: "101", Surveyed: orb.Point{500000.25, 5800000.5}, SurveyedU: 36.5, BuildingID: "höf-0", DeltaE: -0.25, DeltaN: -0.5, DeltaU: nan, Used: true}}
	d.Metadata = []vector.Metadata{{Standard: "http://standards.iso.org/iso/19115/-3/mdb/2.0", MIME: "text/xml", Text: "<a/>\n"}}
	return layer.Of(d)
}

func write(t testing.TB, s layer.Set, o formats.Options) (string, formats.Result) {
	t.Helper()
	folder := t.TempDir()
	result, err := formats.Write(t.Context(), folder, s, o)
	if err != nil {
		t.Fatal(err)
	}
	if err := formats.Describe(folder, s, ""); err != nil {
		t.Fatal(err)
	}
	return folder, result
}

// GDAL reads back of every format what went in: as many features, the CRS,
// positions (to the bit where the format has the CRS of the layers, to 0.1 mm in
// degrees), and each attribute.
func TestGDALReadsEveryFormat(t *testing.T) {
	s := block(t, 5)
	folder, _ := write(t, s, formats.Options{Formats: formats.All()})
	for _, c := range []struct {
		format    formats.Format
		suffix    string
		tolerance float64
		names     bool // columns keep their names
	}{
		{formats.GeoPackage, "", 0, true},
		{formats.FlatGeobuf, ".fgb", 0, true},
		{formats.Shapefile, ".shp", 0, false},
		{formats.GeoJSON, ".geojson", 2e-9, true},
		{formats.GeoJSONLines, ".geojsonl", 2e-9, true},
	} {
		for _, want := range s.Tables {
			if want.Layer.Geometry == layer.None {
				continue
			}
			t.Run(string(c.format)+"/"+want.Layer.Name, func(t *testing.T) {
				path := filepath.Join(folder, string(c.format), want.Layer.Name+c.suffix)
				switch {
				case c.format == formats.GeoPackage:
					path = filepath.Join(folder, formats.FileGeoPackage)
				case c.format == formats.GeoJSON && want.Layer.Name == "footprints":
					path = filepath.Join(folder, formats.FileGeoJSON)
				}
				if c.format == formats.FlatGeobuf && len(want.Rows) == 0 {
					if _, err := os.Stat(path); !os.IsNotExist(err) {
						t.Errorf("a layer without features was written: %v", err)
					}
					return
				}
				if info, err := os.Stat(path); err == nil && info.Size() == 0 && len(want.Rows) == 0 {
					return // no line for no feature, which GDAL takes for no file
				}
				layers, err := gdal.ReadLayers(path)
				if err != nil {
					t.Fatal(err)
				}
				i := slices.IndexFunc(layers, func(l gdal.Layer) bool { return l.Name == want.Layer.Name })
				if i < 0 && len(layers) == 1 {
					i = 0
				}
				compare(t, want, layers[i], s.CRS, c.tolerance, c.names)
			})
		}
	}
}

func compare(t *testing.T, want layer.Table, got gdal.Layer, c vector.CRS, tolerance float64, names bool) {
	t.Helper()
	if len(got.Features) != len(want.Rows) {
		t.Fatalf("%d features, want %d", len(got.Features), len(want.Rows))
	}
	if len(want.Rows) == 0 {
		return
	}
	inCRS := tolerance == 0
	if inCRS != crs.Same(c, vector.CRS{WKT: got.CRS}) {
		t.Errorf("CRS %s", got.CRS)
	}
	to, err := crs.NewTransformer(c, crs.WGS84(), orb.Point{500000, 5800000}, crs.Options{})
	if err != nil {
		t.Fatal(err)
	}
	// The index of FlatGeobuf puts features into another order.
	left := slices.Clone(got.Features)
	for _, row := range want.Rows {
		g := row.Geometry
		if !inCRS {
			g = moved(t, g, to)
		}
		i := slices.IndexFunc(left, func(f gdal.Feature) bool {
			return alike(g, f.Geometry, max(tolerance, 1e-9)) && same(want, row, got, f, names)
		})
		if i < 0 {
			t.Fatalf("no feature is %v %v: the first left is %v", g, row.Values, left[0])
		}
		left = slices.Delete(left, i, i+1)
	}
}

// same compares attributes: an empty text may be none in a Shapefile.
func same(want layer.Table, row layer.Row, got gdal.Layer, f gdal.Feature, names bool) bool {
	k := 0
	for i, c := range want.Layer.Columns {
		at := i
		if names {
			at = slices.Index(got.Fields, c.Name)
		}
		v := row.Values[i]
		switch x := v.(type) {
		case nil:
			// A reader of GeoJSON drops a column that is null throughout.
			if at >= 0 && f.Values[at] != nil {
				return false
			}
			continue
		case bool:
			v = int64(0)
			if x {
				v = int64(1)
			}
		case string:
			if x == "" && !names && f.Values[at] == nil {
				continue
			}
		case float64:
			// JSON does not tell 36.0 from 36, which GDAL reads as an integer.
			n, ok := f.Values[at].(float64)
			if whole, is := f.Values[at].(int64); is {
				n, ok = float64(whole), true
			}
			if ok && math.Abs(n-x) <= 1e-12*max(1, math.Abs(x)) {
				k++
				continue
			}
		}
		if at < 0 || f.Values[at] != v {
			return false
		}
		k++
	}
	return k > 0
}

func moved(t *testing.T, g orb.Geometry, to *crs.Transformer) orb.Geometry {
	t.Helper()
	g = orb.Clone(g)
	move := func(l []orb.Point) {
		for i := range l {
			var err error
			if l[i], err = to.Forward(l[i]); err != nil {
				t.Fatal(err)
			}
		}
	}
	switch g := g.(type) {
	case orb.Point:
		l := []orb.Point{g}
		move(l)
		return l[0]
	case orb.LineString:
		move(g)
	case orb.Polygon:
		for _, ring := range g {
			move(ring)
		}
	}
	return g
}

// alike compares positions; rings of a Shapefile run the other way.
func alike(a, b orb.Geometry, tolerance float64) bool {
	p, q := slices.Collect(layer.Positions(a)), slices.Collect(layer.Positions(b))
	if len(p) != len(q) {
		return false
	}
	near := func(q []orb.Point) bool {
		for i := range p {
			if !(math.Abs(p[i][0]-q[i][0]) <= tolerance && math.Abs(p[i][1]-q[i][1]) <= tolerance) {
				return false
			}
		}
		return true
	}
	if near(q) {
		return true
	}
	slices.Reverse(q)
	return near(q)
}

// Each format that holds polygons gives them back, with their identifiers, to
// quoin check.
func TestReadPolygons(t *testing.T) {
	for _, withZ := range []bool{false, true} {
		s := block(t, 3)
		folder, _ := write(t, s, formats.Options{Formats: formats.All(), WithZ: withZ})
		for _, name := range []string{"footprints.gpkg", "parquet/footprints.parquet", "fgb/footprints.fgb", "shp/footprints.shp", "dxf/drawing.dxf", "geojson/held_back.geojson", "footprints.geojson", "geojsonl/footprints.geojsonl"} {
			got, err := formats.ReadPolygons(filepath.Join(folder, name), "")
			if err != nil {
				t.Errorf("%s: %v", name, err)
				continue
			}
			if name == "geojson/held_back.geojson" {
				continue
			}
			slices.Sort(got.IDs)
			if len(got.Polygons) != 3 || !strings.HasSuffix(name, ".dxf") && !slices.Equal(got.IDs, []string{"höf-0", "höf-1", "höf-2"}) {
				t.Errorf("%s: %d polygons, %q", name, len(got.Polygons), got.IDs)
			}
		}
	}
}

// With elevations, GDAL finds those of the corners in points, and the flag in the
// GeoPackage; what is read of the delivery is raised as it was written.
func TestWithZ(t *testing.T) {
	s := block(t, 2)
	folder, result := write(t, s, formats.Options{Formats: formats.All(), WithZ: true})
	for _, name := range []string{"footprints.gpkg", "fgb/corners.fgb", "shp/corners.shp"} {
		layers, err := gdal.ReadLayers(filepath.Join(folder, name))
		if err != nil {
			t.Fatal(err)
		}
		for _, l := range layers {
			for _, f := range l.Features {
				if l.Name == "corners" && f.Z != f.Values[3] {
					t.Errorf("%s: corner at %v, elevation %v", name, f.Z, f.Values[3])
				}
			}
		}
	}
	back, err := formats.Read(folder)
	if err != nil {
		t.Fatal(err)
	}
	for _, table := range back.Tables {
		withZ, placed := table.Solid()
		switch table.Layer.Name {
		case "footprints", "corners", "sides", "corner_checks":
			if withZ != placed || placed == 0 {
				t.Errorf("%s: %d of %d are raised", table.Layer.Name, withZ, placed)
			}
		}
	}
	if !slices.ContainsFunc(result.Notes, func(n string) bool { return strings.Contains(n, "ellipsoid") }) {
		t.Errorf("GeoJSON is not told to be flat: %q", result.Notes)
	}
}

// A delivery written from what was read of a delivery is the same to the byte.
func TestReadGivesWhatWasWritten(t *testing.T) {
	o := formats.Options{Formats: formats.All()}
	folder, _ := write(t, block(t, 4), o)
	s, err := formats.Read(folder)
	if err != nil {
		t.Fatal(err)
	}
	again, _ := write(t, s, o)
	err = filepath.WalkDir(folder, func(path string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() {
			return err
		}
		name, err := filepath.Rel(folder, path)
		if err != nil {
			return err
		}
		a, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		b, err := os.ReadFile(filepath.Join(again, name))
		if err == nil && !bytes.Equal(a, b) {
			t.Errorf("%s differs", name)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
}

// The checksums are those that sha256sum finds, and cover every file.
func TestSums(t *testing.T) {
	folder, _ := write(t, block(t, 1), formats.Options{Formats: formats.All()})
	cmd := exec.Command("sha256sum", "--strict", "-c", formats.FileSums)
	cmd.Dir = folder
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Errorf("%v: %s", err, out)
	}
	names, err := formats.Listed(folder)
	if err != nil || !slices.Contains(names, formats.FileReadme) || !slices.Contains(names, "shp/corners.dbf") {
		t.Errorf("listed are %q, %v", names, err)
	}
}

// The page for the receiver names each file, fits the width of a terminal and a
// page of paper, and says what the outlines are not.
func TestReadme(t *testing.T) {
	folder, _ := write(t, block(t, 2), formats.Options{Formats: formats.All(), ProjectedGeoJSON: true})
	page, err := os.ReadFile(filepath.Join(folder, formats.FileReadme))
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(string(page), "\n")
	if len(lines) > 75 {
		t.Errorf("%d lines", len(lines))
	}
	for _, l := range lines {
		if len([]rune(l)) > 79 {
			t.Errorf("too wide: %s", l)
		}
	}
	for _, want := range []string{"footprints.gpkg", "shp/", "dxf/", "style/", "metadata.xml", "EPSG:25832+7837", "metre", "no boundary survey", "median 0.040"} {
		if !strings.Contains(string(page), want) {
			t.Errorf("no %q in\n%s", want, page)
		}
	}
}

func TestParse(t *testing.T) {
	got, err := formats.Parse([]string{"shp", " GPKG", "shp"})
	if err != nil || formats.Names(got) != "gpkg,shp" {
		t.Errorf("got %v, %v", got, err)
	}
	for _, wrong := range [][]string{nil, {"dwg"}, {""}} {
		if got, err := formats.Parse(wrong); err == nil {
			t.Errorf("%q is taken as %v", wrong, got)
		}
	}
}

// A job that was stopped writes no further.
func TestStopped(t *testing.T) {
	ctx, stop := context.WithCancel(t.Context())
	stop()
	for _, f := range formats.All() {
		_, err := formats.Write(ctx, t.TempDir(), block(t, 2), formats.Options{Formats: []formats.Format{f}})
		if !errors.Is(err, context.Canceled) && f != formats.DXF {
			t.Errorf("%s: %v", f, err)
		}
	}
}

// Without a CRS everything but longitude and latitude is written.
func TestUnknownCRS(t *testing.T) {
	s := block(t, 1)
	s.CRS = vector.CRS{Horizontal: vector.USSurveyFoot, Vertical: vector.Foot}
	folder, result := write(t, s, formats.Options{Formats: formats.All()})
	if len(result.Warnings) == 0 || result.ToWGS84 != nil {
		t.Errorf("got %+v", result)
	}
	for name, want := range map[string]bool{"footprints.geojson": false, "geojsonl": false, "footprints.gpkg": true, "shp/corners.shp": true, "parquet/corners.parquet": true, "dxf/drawing.dxf": true, "fgb/corners.fgb": true} {
		if _, err := os.Stat(filepath.Join(folder, name)); (err == nil) != want {
			t.Errorf("%s: %v", name, err)
		}
	}
}

//go:build !nogdal

package gdal_test

import (
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/paulmach/orb"

	"quoin/vector/gdal"
)

const stakes = `{"type":"FeatureCollection","crs":{"type":"name","properties":{"name":"urn:ogc:def:crs:EPSG::25832"}},"features":[
{"type":"Feature","properties":{"name":"P1","count":3,"height":1.25},"geometry":{"type":"Point","coordinates":[500000.123,5700000.456,101.5]}},
{"type":"Feature","properties":{"name":"Größe","count":null,"height":2.5},"geometry":{"type":"Point","coordinates":[500010.5,5700020.25,102.25]}}]}`

func write(t *testing.T, name, text string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(path, []byte(text), 0o666); err != nil {
		t.Fatal(err)
	}
	return path
}

// TestReadLayers reads points with heights and attributes from what GDAL's own
// ogr2ogr writes.
func TestReadLayers(t *testing.T) {
	from := write(t, "in.geojson", stakes)
	for _, c := range []struct{ format, name string }{{"ESRI Shapefile", "a.shp"}, {"GPKG", "a.gpkg"}, {"FlatGeobuf", "a.fgb"}, {"GeoJSON", "a.geojson"}} {
		t.Run(c.format, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), c.name)
			run(t, "ogr2ogr", "-f", c.format, "-nln", "stakes", "-lco", "ENCODING=UTF-8", path, from)
			layers, err := gdal.ReadLayers(path)
			if err != nil || len(layers) != 1 {
				t.Fatalf("%d layers, %v", len(layers), err)
			}
			l := layers[0]
			if diff := cmp.Diff([]string{"name", "count", "height"}, l.Fields); diff != "" {
				t.Error(diff)
			}
			if !strings.Contains(l.CRS, "25832") && !strings.Contains(l.CRS, "UTM_Zone_32N") && !strings.Contains(l.CRS, "UTM zone 32N") {
				t.Errorf("CRS %q", l.CRS)
			}
			byName := map[any]gdal.Feature{}
			for _, f := range l.Features {
				byName[f.Values[0]] = f
			}
			p, q := byName["P1"], byName["Größe"]
			if diff := cmp.Diff([]any{"P1", int64(3), 1.25}, p.Values); diff != "" {
				t.Error(diff)
			}
			if diff := cmp.Diff([]any{"Größe", any(nil), 2.5}, q.Values); diff != "" {
				t.Error(diff)
			}
			if p.Geometry != (orb.Point{500000.123, 5700000.456}) || p.Z != 101.5 || q.Z != 102.25 {
				t.Errorf("read %v %v, %v %v", p.Geometry, p.Z, q.Geometry, q.Z)
			}
		})
	}
}

// TestReadOtherGeometries reads lines and polygons, and a feature without any.
func TestReadOtherGeometries(t *testing.T) {
	path := write(t, "a.csv", "WKT,n\n\"LINESTRING Z (0 0 1,1 2 3)\",1\n\"POLYGON ((0 0,4 0,4 4,0 4,0 0),(1 1,1 2,2 2,2 1,1 1))\",2\n,3\n\"CIRCULARSTRING (0 0,1 1,2 0)\",4\n")
	layers, err := gdal.ReadLayers(path)
	if err != nil {
		t.Fatal(err)
	}
	f := layers[0].Features
	if len(f) != 4 {
		t.Fatalf("%d features", len(f))
	}
	if !orb.Equal(f[0].Geometry, orb.LineString{{0, 0}, {1, 2}}) || !math.IsNaN(f[0].Z) {
		t.Errorf("line %v, Z %v", f[0].Geometry, f[0].Z)
	}
	if p, ok := f[1].Geometry.(orb.Polygon); !ok || len(p) != 2 {
		t.Errorf("polygon %v", f[1].Geometry)
	}
	if f[2].Geometry != nil {
		t.Errorf("nothing is %v", f[2].Geometry)
	}
	if l, ok := f[3].Geometry.(orb.LineString); !ok || len(l) < 10 || math.Abs(math.Hypot(l[5][0]-1, l[5][1])-1) > 1e-9 {
		t.Errorf("arc %v", f[3].Geometry)
	}
}

// TestTranslate writes FlatGeobuf and Shapefile, which ogrinfo reads.
func TestTranslate(t *testing.T) {
	from := write(t, "in.geojson", stakes)
	for _, c := range []struct{ format, name string }{{"FlatGeobuf", "a.fgb"}, {"ESRI Shapefile", "a.shp"}} {
		path := filepath.Join(t.TempDir(), c.name)
		if err := gdal.Translate(path, from, "-f", c.format, "-nln", "a"); err != nil {
			t.Fatal(err)
		}
		says := run(t, "ogrinfo", "-al", path)
		if !strings.Contains(says, "Größe") || !strings.Contains(says, "500000.123") {
			t.Errorf("%s: %s", c.format, says)
		}
	}
	err := gdal.Translate(filepath.Join(t.TempDir(), "a.x"), from, "-f", "No Such Format")
	if err == nil || !strings.Contains(err.Error(), "No Such Format") {
		t.Errorf("an unknown format gives %v", err)
	}
}

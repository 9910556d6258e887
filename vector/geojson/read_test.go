package geojson

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/paulmach/orb"

	"quoin/vector"
)

const ring = `[[[0,0],[1,0],[1,1],[0,0]]]`

func TestRead(t *testing.T) {
	triangle := orb.Polygon{{{0, 0}, {1, 0}, {1, 1}, {0, 0}}}
	wgs84 := vector.CRS{Name: "WGS 84", Authority: "EPSG", Code: 4326}
	for _, c := range []struct {
		name, in string
		want     Polygons
	}{
		{"bare geometry", `{"type":"Polygon","coordinates":` + ring + `}`, Polygons{[]orb.Polygon{triangle}, []string{"1"}, wgs84}},
		{"feature", `{"type":"Feature","id":"x","properties":null,"geometry":{"type":"Polygon","coordinates":` + ring + `}}`, Polygons{[]orb.Polygon{triangle}, []string{"x"}, wgs84}},
		{"numbered", `{"type":"Feature","id":17,"properties":{},"geometry":{"type":"Polygon","coordinates":` + ring + `}}`, Polygons{[]orb.Polygon{triangle}, []string{"17"}, wgs84}},
		{"building_id first", `{"type":"Feature","id":17,"properties":{"building_id":"b"},"geometry":{"type":"Polygon","coordinates":` + ring + `}}`, Polygons{[]orb.Polygon{triangle}, []string{"b"}, wgs84}},
		{"multipolygon and null", `{"features":[{"type":"Feature","geometry":null},{"type":"Feature","geometry":{"type":"MultiPolygon","coordinates":[` + ring + `,` + ring + `]}}],"type":"FeatureCollection"}`, Polygons{[]orb.Polygon{triangle, triangle}, []string{"2", "2"}, wgs84}},
		{"third coordinate", `{"type":"Polygon","coordinates":[[[0,0,5],[1,0,5],[1,1,5],[0,0,5]]]}`, Polygons{[]orb.Polygon{triangle}, []string{"1"}, wgs84}},
		{"empty", `{"type":"FeatureCollection","features":[]}`, Polygons{CRS: wgs84}},
		{"old crs member", `{"type":"FeatureCollection","crs":{"type":"name","properties":{"name":"urn:ogc:def:crs:EPSG::25832"}},"features":[]}`, Polygons{CRS: vector.CRS{Authority: "EPSG", Code: 25832}}},
		{"other properties", `{"type":"Feature","properties":{"building_id":["?"],"coordinate_reference_system":7},"geometry":null}`, Polygons{CRS: wgs84}},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, err := Read(strings.NewReader(c.in), 1<<20)
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(c.want, got); diff != "" {
				t.Errorf("(-want +got):\n%s", diff)
			}
		})
	}
}

func TestReadErrors(t *testing.T) {
	for _, c := range []struct{ name, in, want string }{
		{"empty", "", "not GeoJSON"},
		{"list", "[]", "not GeoJSON"},
		{"no type", "{}", "no type"},
		{"cut off", `{"type":"FeatureCollection","features":[`, "not GeoJSON"},
		{"goes on", `{"type":"FeatureCollection","features":[]} {}`, "goes on"},
		{"point", `{"type":"Point","coordinates":[1,2]}`, `"Point", not a polygon`},
		{"short position", `{"type":"Polygon","coordinates":[[[0]]]}`, "a position has 1 numbers"},
		{"text", `{"type":"Polygon","coordinates":"here"}`, "coordinates"},
		{"two CRSs", `{"type":"FeatureCollection","features":[{"properties":{"coordinate_reference_system":"EPSG:1"}},{"properties":{"coordinate_reference_system":"EPSG:2"}}]}`, "feature 2: its CRS is EPSG:2"},
		{"too large", `{"type":"FeatureCollection","features":[` + strings.Repeat(" ", 1<<20) + `]}`, "larger than"},
		{"deep", strings.Repeat(`{"a":`, 20000), "not GeoJSON"},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, err := Read(strings.NewReader(c.in), 1<<20)
			if err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("got %v, %v; want an error that says %q", got, err, c.want)
			}
		})
	}
}

func FuzzRead(f *testing.F) {
	for _, seed := range []string{
		`{"type":"Polygon","coordinates":` + ring + `}`,
		`{"type":"FeatureCollection","bbox":[0,0,1,1],"features":[{"type":"Feature","id":1,"properties":{"building_id":"a"},"geometry":{"type":"MultiPolygon","coordinates":[` + ring + `]}}]}`,
		`{"type":"Feature","geometry":null}`,
	} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, in []byte) {
		got, err := Read(strings.NewReader(string(in)), 1<<16)
		if err == nil && len(got.Polygons) != len(got.IDs) {
			t.Fatalf("%d polygons, %d ids", len(got.Polygons), len(got.IDs))
		}
	})
}

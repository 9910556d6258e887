package geojson

import (
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/paulmach/orb"
)

func TestReadPoints(t *testing.T) {
	const text = `{"type":"FeatureCollection","features":[
{"type":"Feature","properties":{"name":"a","sd":0.01,"used":true,"list":[1],"coordinate_reference_system":"EPSG:25832"},"geometry":{"type":"Point","coordinates":[500000.5,5800000,31.25]}},
{"type":"Feature","properties":null,"geometry":null},
{"type":"Feature","properties":{"name":7},"geometry":{"type":"Point","coordinates":[1,2]}}]}`
	p, err := readPoints(strings.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	want := Points{
		Names:      []string{"coordinate_reference_system", "list", "name", "sd", "used"},
		Points:     []orb.Point{{500000.5, 5800000}, {1, 2}},
		Rows:       [][]string{{"EPSG:25832", "", "a", "0.01", "true"}, {"", "", "7", "", ""}},
		Elevations: []string{"31.25", ""},
	}
	want.CRS.Authority, want.CRS.Code = "EPSG", 25832
	if diff := cmp.Diff(want, p); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

func TestReadPointsRefuses(t *testing.T) {
	for text, want := range map[string]string{
		"": "not GeoJSON", "[]": "not GeoJSON", `{"type":"Point","coordinates":[1,2]}`: "no feature collection",
		`{"type":"FeatureCollection","features":[{"geometry":{"type":"Polygon","coordinates":[]}}]}`:    `feature 1: it is a "Polygon"`,
		`{"type":"FeatureCollection","features":[{"geometry":{"type":"Point","coordinates":[1]}}]}`:     "not a point",
		`{"type":"FeatureCollection","features":[{"geometry":{"type":"Point","coordinates":["x",1]}}]}`: "",
		`{"type":"FeatureCollection","features":[{"properties":{"coordinate_reference_system":"A"},"geometry":{"type":"Point","coordinates":[1,2]}},
{"properties":{"coordinate_reference_system":"B"},"geometry":{"type":"Point","coordinates":[1,2]}}]}`: "its CRS is B",
	} {
		if _, err := readPoints(strings.NewReader(text)); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want %q", text, err, want)
		}
	}
}

// TestManyPropertiesAreRefused: a text for each property of each feature would
// grow with the square of the file.
func TestManyPropertiesAreRefused(t *testing.T) {
	var b strings.Builder
	b.WriteString(`{"type":"FeatureCollection","features":[`)
	for i := range maxProperties + 1 {
		if i > 0 {
			b.WriteByte(',')
		}
		fmt.Fprintf(&b, `{"properties":{"p%d":1},"geometry":null}`, i)
	}
	if _, err := readPoints(strings.NewReader(b.String() + "]}")); err == nil || !strings.Contains(err.Error(), "different properties") {
		t.Errorf("got %v", err)
	}
}

func FuzzReadPoints(f *testing.F) {
	f.Add(`{"type":"FeatureCollection","features":[{"properties":{"n":1},"geometry":{"type":"Point","coordinates":[1,2,3]}}]}`)
	f.Fuzz(func(t *testing.T, text string) {
		p, err := readPoints(strings.NewReader(text))
		if err == nil && (len(p.Points) != len(p.Rows) || len(p.Points) != len(p.Elevations)) {
			t.Errorf("%d points, %d rows", len(p.Points), len(p.Rows))
		}
	})
}

package layer_test

import (
	"bytes"
	"context"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/paulmach/orb"

	"quoin/vector"
	"quoin/vector/geojson"
	"quoin/vector/gpkg"
	"quoin/vector/layer"
)

// content is what a reader gets back of the layer of footprints.
type content struct {
	IDs      []string
	Polygons []orb.Polygon
	// Rows are the attributes as they come out of the file, numbers as
	// float64.
	Rows []map[string]any
}

// A writer is a layer writer with the reader that belongs to it.
type writer struct {
	name  string
	write func(path string, d vector.Delivery) error
	read  func(t *testing.T, path string) content
	// tolerance of a coordinate after reading back, in units of the delivery.
	tolerance float64
	// needsCRS says that a delivery in an unknown CRS is refused.
	needsCRS bool
}

func writers() []writer {
	return []writer{
		{
			"gpkg", func(path string, d vector.Delivery) error {
				return gpkg.Write(context.Background(), path, layer.Of(d), gpkg.Options{})
			},
			readGeoPackage, 0, false,
		},
		{"geojson", func(path string, d vector.Delivery) error {
			return geojson.Write(context.Background(), path, d, toDegrees)
		}, readDegrees, 1e-4, true},
		{"geojson lines", func(path string, d vector.Delivery) error {
			return geojson.WriteLines(context.Background(), path, footprints(d), toDegrees)
		}, readLines, 1e-4, false},
		{"geojson projected", func(path string, d vector.Delivery) error {
			return geojson.WriteProjected(context.Background(), path, footprints(d), d.CRS)
		}, readGeoJSON, 0, false},
	}
}

// toDegrees is a made-up map projection, backwards: good enough to see whether
// a writer keeps what it is given.
func toDegrees(p orb.Point) (orb.Point, error) {
	return orb.Point{9 + (p[0]-500000)/metresPerDegree, 52 + (p[1]-5800000)/metresPerDegree}, nil
}

const metresPerDegree = 100000

func readDegrees(t *testing.T, path string) content {
	c := readGeoJSON(t, path)
	for _, p := range c.Polygons {
		for _, ring := range p {
			for i, q := range ring {
				ring[i] = orb.Point{500000 + (q[0]-9)*metresPerDegree, 5800000 + (q[1]-52)*metresPerDegree}
			}
		}
	}
	return c
}

// readLines makes a collection of the lines, and so reads each one twice: by
// itself here, in a sequence by the reader.
func readLines(t *testing.T, path string) content {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if len(b) == 0 {
		return content{}
	}
	whole := filepath.Join(t.TempDir(), "whole")
	text := strings.ReplaceAll(strings.TrimRight(string(b), "\n"), "\n", ",")
	if err := os.WriteFile(whole, []byte(`{"type":"FeatureCollection","features":[`+text+`]}`), 0o666); err != nil {
		t.Fatal(err)
	}
	sequence, err := geojson.ReadPolygons(path)
	if err != nil {
		t.Fatal(err)
	}
	c := readDegrees(t, whole)
	if diff := cmp.Diff(c.IDs, sequence.IDs); diff != "" {
		t.Error(diff)
	}
	return c
}

func readGeoJSON(t *testing.T, path string) content {
	t.Helper()
	p, err := geojson.ReadPolygons(path)
	if err != nil {
		t.Fatal(err)
	}
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	var file struct {
		Features []struct{ Properties map[string]any }
	}
	if err := json.Unmarshal(b, &file); err != nil {
		t.Fatal(err)
	}
	c := content{IDs: p.IDs, Polygons: p.Polygons}
	for _, f := range file.Features {
		delete(f.Properties, geojson.CRSProperty)
		c.Rows = append(c.Rows, f.Properties)
	}
	return c
}

func readGeoPackage(t *testing.T, path string) content {
	t.Helper()
	p, err := gpkg.ReadPolygons(path, "")
	if err != nil {
		t.Fatal(err)
	}
	c := content{IDs: p.IDs, Polygons: p.Polygons}
	for _, row := range query(t, path, "SELECT * FROM footprints ORDER BY fid") {
		delete(row, "fid")
		delete(row, "geom")
		c.Rows = append(c.Rows, row)
	}
	return c
}

// wanted returns what any writer has to give back of the delivery.
func wanted(d vector.Delivery) content {
	var c content
	for _, f := range d.Footprints {
		if len(f.Polygon) > 0 {
			c.IDs, c.Polygons = append(c.IDs, f.ID), append(c.Polygons, f.Polygon)
		}
	}
	l := layer.Footprints()
	for row := range l.Rows(d) {
		values := map[string]any{}
		for i, column := range l.Columns {
			v := row.Values[i]
			if n, ok := v.(int64); ok {
				v = float64(n)
			}
			values[column.Name] = v
		}
		c.Rows = append(c.Rows, values)
	}
	return c
}

// deliveries are the cases that every writer must take.
func deliveries() map[string]vector.Delivery {
	empty := vector.Delivery{CRS: utm32}
	noCRS := small()
	noCRS.CRS = vector.CRS{}
	feet := small()
	feet.CRS.Horizontal, feet.CRS.Vertical = vector.USSurveyFoot, vector.Foot
	own := small()
	own.CRS.Authority, own.CRS.Code = "", 0
	unknown := small()
	for i := range unknown.Footprints {
		f := &unknown.Footprints[i]
		f.GroundElevation, f.EaveHeight, f.RidgeHeight = math.NaN(), math.Inf(1), math.Inf(-1)
		f.LowestGround, f.HighestGround, f.GeneralRoof, f.HighestPoint = math.NaN(), math.NaN(), math.NaN(), math.NaN()
		f.Roof, f.Parts = vector.RoofForm{Pitch: math.NaN(), Aspect: math.NaN()}, nil
		f.EdgeRMS, f.Quality, f.Corners, f.Review = math.NaN(), math.NaN(), nil, nil
	}
	text := small()
	text.Footprints[0].ID = "Dům „U Zlatého“ <&> 家 \\ 🏠 '; DROP TABLE footprints; --"
	text.Lineage = "Straße < Weg & <b>nothing</b>"
	noPolygon := small()
	noPolygon.Footprints[0].Polygon = nil
	noTime := small()
	noTime.Time = time.Time{}
	large := vector.Delivery{CRS: utm32, Time: moment}
	for i := range 500 {
		large.Footprints = append(large.Footprints, house("h"+string(rune('a'+i%26)), 500000+30*float64(i%20), 5800000+30*float64(i/20)))
	}
	return map[string]vector.Delivery{
		"small": small(), "empty": empty, "nothing": {}, "unknown CRS": noCRS, "feet": feet, "user-defined CRS": own,
		"unknown values": unknown, "text": text, "without a polygon": noPolygon, "without a time": noTime, "500 buildings": large,
	}
}

func TestWritersConform(t *testing.T) {
	for _, w := range writers() {
		for name, d := range deliveries() {
			t.Run(w.name+"/"+name, func(t *testing.T) {
				folder := t.TempDir()
				path := filepath.Join(folder, "out")
				err := w.write(path, d)
				if w.needsCRS && !d.CRS.Known() {
					if err == nil || !strings.Contains(err.Error(), "CRS is unknown") {
						t.Fatalf("got %v, want a refusal", err)
					}
					return
				}
				if err != nil {
					t.Fatal(err)
				}
				want, got := wanted(d), w.read(t, path)
				within := cmp.Comparer(func(a, b orb.Polygon) bool { return near(a, b, w.tolerance) })
				if diff := cmp.Diff(want, got, within); diff != "" {
					t.Errorf("(-want +got):\n%s", diff)
				}
				sameAgain(t, w, d, path)
				if entries, err := os.ReadDir(folder); err != nil || len(entries) != 1 {
					t.Errorf("the folder holds %v, %v", entries, err)
				}
			})
		}
	}
}

// sameAgain writes over the file and expects the same bytes.
func sameAgain(t *testing.T, w writer, d vector.Delivery, path string) {
	t.Helper()
	first, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if err := w.write(path, d); err != nil {
		t.Fatal(err)
	}
	second, err := os.ReadFile(path)
	if err != nil || !bytes.Equal(first, second) {
		t.Errorf("writing again gives other bytes (%v)", err)
	}
}

func TestWritersNameTheFileThatCannotBe(t *testing.T) {
	for _, w := range writers() {
		t.Run(w.name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "absent", "out")
			err := w.write(path, small())
			if err == nil || !strings.Contains(err.Error(), path) || strings.Contains(err.Error(), "\n") {
				t.Errorf("got %v", err)
			}
		})
	}
}

func TestWritersDoNotChangeTheDelivery(t *testing.T) {
	for _, w := range writers() {
		d := small()
		if err := w.write(filepath.Join(t.TempDir(), "out"), d); err != nil {
			t.Fatal(err)
		}
		equalNaN := cmp.Comparer(func(a, b float64) bool { return a == b || math.IsNaN(a) && math.IsNaN(b) })
		if diff := cmp.Diff(small(), d, equalNaN); diff != "" {
			t.Errorf("%s (-before +after):\n%s", w.name, diff)
		}
	}
}

package dxf

import (
	"bufio"
	"bytes"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/paulmach/orb"

	"quoin/vector"
	"quoin/vector/layer"
)

// Two houses of a row, the first with a court, far from the origin as national
// grids are.
var (
	first = orb.Polygon{
		{{565000, 5934000}, {565010, 5934000}, {565010, 5934008}, {565000, 5934008}, {565000, 5934000}},
		{{565004, 5934002}, {565004, 5934004}, {565006, 5934004}, {565006, 5934002}, {565004, 5934002}},
	}
	second = orb.Polygon{{{565010, 5934000}, {565018, 5934000}, {565018, 5934008}, {565010, 5934008}, {565010, 5934000}}}
)

func tables() []layer.Table {
	var d vector.Delivery
	for i, p := range []orb.Polygon{first, second} {
		f := vector.Footprint{ID: string(rune('a' + i)), Polygon: p, GroundElevation: 30, EaveHeight: 3, RidgeHeight: 7.5}
		for r, ring := range p {
			for v, q := range ring[:len(ring)-1] {
				f.Corners = append(f.Corners, vector.Corner{
					BuildingID: f.ID, Ring: r, Vertex: v, Point: q, Elevation: 33.125, SigmaE: 0.02, SigmaN: 0.02, SigmaU: 0.03, Kind: vector.Adjusted,
				})
				f.Sides = append(f.Sides, vector.Side{Ring: r, Edge: v, From: q, To: ring[v+1], SigmaLength: 0.03})
			}
		}
		d.Footprints = append(d.Footprints, f)
	}
	return layer.Tables(d)
}

// An entity as the file has it: group codes and values in order.
type entity struct {
	kind  string
	pairs [][2]string
}

func (e entity) all(code string) (values []string) {
	for _, p := range e.pairs {
		if p[0] == code {
			values = append(values, p[1])
		}
	}
	return values
}

// entities is a reader of its own, from the format's description: pairs of
// lines, entities begin with code 0.
func entities(t *testing.T, path string) []entity {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	lines := bufio.NewScanner(bytes.NewReader(b))
	var out []entity
	inside := false
	for lines.Scan() {
		code := strings.TrimSpace(lines.Text())
		if !lines.Scan() {
			t.Fatalf("code %s has no value", code)
		}
		if _, err := strconv.Atoi(code); err != nil {
			t.Fatalf("%q is no group code", code)
		}
		value := lines.Text()
		switch {
		case code == "2" && value == "ENTITIES":
			inside = true
		case code == "0" && value == "ENDSEC":
			inside = false
		case code == "0" && inside:
			out = append(out, entity{kind: value})
		case inside && len(out) > 0:
			out[len(out)-1].pairs = append(out[len(out)-1].pairs, [2]string{code, value})
		}
	}
	return out
}

func drawn(t *testing.T, unit vector.Unit, o Options) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "a.dxf")
	if err := Draft(tables(), unit, o).Write(path); err != nil {
		t.Fatal(err)
	}
	return path
}

func floats(t *testing.T, texts []string) (v []float64) {
	t.Helper()
	for _, s := range texts {
		f, err := strconv.ParseFloat(s, 64)
		if err != nil {
			t.Fatal(err)
		}
		v = append(v, f)
	}
	return v
}

func TestOutlinesAreClosedPolylinesOnTheirLayer(t *testing.T) {
	var rings []orb.Ring
	points := 0
	for _, e := range entities(t, drawn(t, vector.Metre, Options{})) {
		switch e.kind {
		case "LWPOLYLINE":
			if e.all("8")[0] != RoofEdge || e.all("70")[0] != "1" {
				t.Errorf("layer %v, closed %v", e.all("8"), e.all("70"))
			}
			x, y := floats(t, e.all("10")), floats(t, e.all("20"))
			var ring orb.Ring
			for i := range x {
				ring = append(ring, orb.Point{x[i], y[i]})
			}
			rings = append(rings, append(ring, ring[0]))
		case "POINT":
			points++
			if e.all("8")[0] != Corner || e.all("30")[0] != "0.0" {
				t.Errorf("corner %v", e.pairs)
			}
		default:
			t.Errorf("a %s was not asked for", e.kind)
		}
	}
	if diff := cmp.Diff([]orb.Ring{first[0], first[1], second[0]}, rings); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
	if points != 12 {
		t.Errorf("%d corners, want 12", points)
	}
}

func TestTextsAreRoundedBySigma(t *testing.T) {
	var lengths, heights []string
	for _, e := range entities(t, drawn(t, vector.Metre, Options{Dimensions: true, Elevations: true, Identifiers: true})) {
		if e.kind != "TEXT" {
			continue
		}
		switch e.all("8")[0] {
		case Dimensions:
			lengths = append(lengths, e.all("1")[0])
			if a := floats(t, e.all("50"))[0]; a < -90 || a > 90 {
				t.Errorf("text at %v degrees is upside down", a)
			}
		case Heights:
			heights = append(heights, e.all("1")[0])
		}
	}
	if diff := cmp.Diff([]string{"10.00", "8.00", "10.00", "8.00", "2.00", "2.00", "2.00", "2.00", "8.00", "8.00", "8.00", "8.00"}, lengths); diff != "" {
		t.Error(diff)
	}
	if diff := cmp.Diff("33.12 eave 33.00 ridge 37.50", heights[0]+" "+heights[12]+" "+heights[13]); diff != "" {
		t.Error(diff)
	}
}

func TestRounded(t *testing.T) {
	for _, c := range []struct {
		v, sigma float64
		want     string
	}{
		{12.3456, 0.03, "12.35"},
		{12.3456, 0.1, "12.3"},
		{12.3456, 0.15, "12.3"},
		{12.3456, 1.4, "12"},
		{12.3456, 0.0004, "12.346"},
		{12.3456, math.NaN(), "12.35"},
	} {
		if got := rounded(c.v, c.sigma); got != c.want {
			t.Errorf("%v ± %v: %s, want %s", c.v, c.sigma, got, c.want)
		}
	}
}

// The wall between the two houses is drawn with the first.
func TestSharedWallOnce(t *testing.T) {
	var kinds []string
	for _, e := range entities(t, drawn(t, vector.Metre, Options{SharedOnce: true})) {
		if e.kind == "LWPOLYLINE" {
			kinds = append(kinds, e.all("90")[0]+"/"+e.all("70")[0])
		}
	}
	if diff := cmp.Diff([]string{"4/1", "4/1", "4/0"}, kinds); diff != "" {
		t.Errorf("positions/closed (-want +got):\n%s", diff)
	}
}

// GDAL's reader finds the same, elevations too, and takes the drawing for
// closed lines.
func TestGDALReadsIt(t *testing.T) {
	ogrinfo, err := exec.LookPath("ogrinfo")
	if err != nil {
		t.Skip("ogrinfo is not installed: the drawing was not read by GDAL")
	}
	out, err := exec.Command(ogrinfo, "-ro", "-al", "-where", "Layer='"+RoofEdge+"'", drawn(t, vector.Foot, Options{Spatial: true})).CombinedOutput()
	if err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	for _, want := range []string{
		"Feature Count: 3", "Extent: (565000.000000, 5934000.000000) - (565018.000000, 5934008.000000)",
		"(565000 5934000 33.125,565010 5934000 33.125,565010 5934008 33.125,565000 5934008 33.125,565000 5934000 33.125)",
	} {
		if !strings.Contains(string(out), want) {
			t.Errorf("GDAL does not say %q:\n%s", want, out)
		}
	}
}

// The codes of $INSUNITS: 2 feet, 6 metres, 21 US survey feet (from memory of
// the format's reference).
func TestUnits(t *testing.T) {
	for unit, code := range map[vector.Unit]string{vector.Metre: "6", vector.Foot: "2", vector.USSurveyFoot: "21", {}: "0"} {
		b, err := os.ReadFile(drawn(t, unit, Options{}))
		if err != nil {
			t.Fatal(err)
		}
		if !strings.Contains(string(b), "$INSUNITS\n 70\n"+code+"\n") {
			t.Errorf("%s: not unit code %s", unit.Name, code)
		}
	}
}

func TestPlain(t *testing.T) {
	if got, want := plain("Gebäude 1\n0\nEOF €"), `Geb\U+00E4ude 1 0 EOF \U+20AC`; got != want {
		t.Errorf("%q, want %q", got, want)
	}
}

func TestCornerList(t *testing.T) {
	path := filepath.Join(t.TempDir(), "corners.csv")
	for _, table := range tables() {
		if table.Layer.Name == "corners" {
			if err := WriteCornerList(path, table); err != nil {
				t.Fatal(err)
			}
		}
	}
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	want := "point,northing,easting,elevation,description\n1,5934000.0000,565000.0000,33.1250,roof corner a adjusted\n"
	if !strings.HasPrefix(string(b), want) || strings.Count(string(b), "\n") != 13 {
		t.Errorf("got\n%s", b)
	}
}

package geojson

import (
	"encoding/json"
	"errors"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/paulmach/orb"
	"pgregory.net/rapid"

	"quoin/vector"
	"quoin/vector/topology"
)

var utm32 = vector.CRS{Authority: "EPSG", Code: 25832, Name: "ETRS89 / UTM zone 32N", Horizontal: vector.Metre, Vertical: vector.Metre}

// identity is the transformation of tests whose input is in degrees.
func identity(p orb.Point) (orb.Point, error) { return p, nil }

// degrees is a delivery whose one footprint is given in degrees.
func degrees(polygons ...orb.Polygon) vector.Delivery {
	d := vector.Delivery{CRS: utm32}
	for i, p := range polygons {
		d.Footprints = append(d.Footprints, vector.Footprint{ID: string(rune('a' + i)), Reference: vector.RoofEdge, Polygon: p})
	}
	return d
}

func box(west, south, east, north float64) orb.Polygon {
	return orb.Polygon{{{west, south}, {east, south}, {east, north}, {west, north}, {west, south}}}
}

func written(t *testing.T, d vector.Delivery) []byte {
	t.Helper()
	path := filepath.Join(t.TempDir(), "footprints.geojson")
	if err := Write(t.Context(), path, d, identity); err != nil {
		t.Fatal(err)
	}
	return content(t, path)
}

func content(t *testing.T, path string) []byte {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// document is the file as the RFC describes it.
type document struct {
	Type     string
	BBox     []float64 `json:"bbox"`
	Features []struct {
		Type       string
		ID         string
		Geometry   *struct{ Type string }
		Properties map[string]any
	}
}

func parsed(t *testing.T, b []byte) (document, map[string]json.RawMessage) {
	t.Helper()
	var d document
	var members map[string]json.RawMessage
	if err := errors.Join(json.Unmarshal(b, &d), json.Unmarshal(b, &members)); err != nil {
		t.Fatalf("%v in %s", err, b)
	}
	return d, members
}

// RFC 7946, section 3.1.9: a rectangle from 40 to 50 north and 170 east to 170
// west is written as two polygons.
func TestAntimeridianExampleOfTheRFC(t *testing.T) {
	want := orb.MultiPolygon{box(170, 40, 180, 50), box(-180, 40, -170, 50)}
	for name, in := range map[string]orb.Polygon{
		"west first": {{{170, 40}, {-170, 40}, {-170, 50}, {170, 50}, {170, 40}}},
		"east first": {{{-170, 40}, {-170, 50}, {170, 50}, {170, 40}, {-170, 40}}},
		"clockwise":  {{{170, 40}, {170, 50}, {-170, 50}, {-170, 40}, {170, 40}}},
	} {
		t.Run(name, func(t *testing.T) {
			b := written(t, degrees(in))
			got, err := Read(strings.NewReader(string(b)), 1<<20)
			if err != nil {
				t.Fatal(err)
			}
			if len(got.Polygons) != 2 {
				t.Fatalf("%d polygons: %s", len(got.Polygons), b)
			}
			slices.SortFunc(got.Polygons, func(a, b orb.Polygon) int { return -int(math.Copysign(1, a[0][0][0]-b[0][0][0])) })
			for i, p := range got.Polygons {
				if p.Bound() != want[i].Bound() || len(p[0]) != 5 || !topology.Oriented(p) {
					t.Errorf("part %d: got %v, want %v", i, p, want[i])
				}
			}
			d, _ := parsed(t, b)
			if d.Features[0].Geometry.Type != "MultiPolygon" || d.Features[0].ID != "a" {
				t.Errorf("feature %+v", d.Features[0])
			}
			if diff := cmp.Diff([]float64{170, 40, -170, 50}, d.BBox); diff != "" {
				t.Error(diff)
			}
		})
	}
}

func TestBoundingBox(t *testing.T) {
	for _, c := range []struct {
		name string
		in   []orb.Polygon
		want []float64
	}{
		{"one", []orb.Polygon{box(10, 48, 11, 49)}, []float64{10, 48, 11, 49}},
		{"two", []orb.Polygon{box(10, 48, 11, 49), box(-3, 50, -2, 51)}, []float64{-3, 48, 11, 51}},
		// The box of RFC 7946, section 5.2: the Fiji islands.
		{"either side of the line", []orb.Polygon{box(177, -20, 178, -18), box(-179, -17, -178, -16)}, []float64{177, -20, -178, -16}},
		{"touching the line", []orb.Polygon{box(179, 0, 180, 1)}, []float64{179, 0, 180, 1}},
		{"nested", []orb.Polygon{box(0, 0, 100, 10), box(20, 0, 30, 10), box(40, 0, 50, 10)}, []float64{0, 0, 100, 10}},
		{"without a position", []orb.Polygon{nil}, nil},
		{"none", nil, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			d, members := parsed(t, written(t, degrees(c.in...)))
			if diff := cmp.Diff(c.want, d.BBox); diff != "" {
				t.Error(diff)
			}
			if _, ok := members["bbox"]; ok != (c.want != nil) {
				t.Errorf("bbox present: %v", ok)
			}
		})
	}
}

// RFC 7946, section 3.1.6, with the polygon with a hole of its appendix A.3,
// given the wrong way round.
func TestRightHandRule(t *testing.T) {
	exterior := orb.Ring{{100, 0}, {100, 1}, {101, 1}, {101, 0}, {100, 0}}
	hole := orb.Ring{{100.8, 0.8}, {100.2, 0.8}, {100.2, 0.2}, {100.8, 0.2}, {100.8, 0.8}}
	b := written(t, degrees(orb.Polygon{exterior, hole}))
	const want = `"coordinates":[[[100,0],[101,0],[101,1],[100,1],[100,0]],[[100.8,0.8],[100.8,0.2],[100.2,0.2],[100.2,0.8],[100.8,0.8]]]`
	if !strings.Contains(string(b), want) {
		t.Errorf("got %s, want %s", b, want)
	}
}

// A transformation may mirror, as one with northing first would.
func TestRightHandRuleAfterAMirroringTransform(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.geojson")
	mirror := func(p orb.Point) (orb.Point, error) { return orb.Point{p[1], p[0]}, nil }
	if err := Write(t.Context(), path, degrees(box(10, 20, 11, 21)), mirror); err != nil {
		t.Fatal(err)
	}
	got, err := ReadPolygons(path)
	if err != nil || !topology.Oriented(got.Polygons[0]) {
		t.Errorf("got %v, %v", got, err)
	}
}

func TestMembersOfTheRFCOnly(t *testing.T) {
	d := degrees(box(10, 48, 11, 49))
	d.Footprints[0].EdgeRMS = math.NaN()
	doc, members := parsed(t, written(t, d))
	for name := range members {
		if !slices.Contains([]string{"type", "bbox", "features"}, name) {
			t.Errorf("member %q", name)
		}
	}
	if v, ok := doc.Features[0].Properties["edge_rms"]; !ok || v != nil {
		t.Errorf("NaN is written as %v", v)
	}
}

func TestNineDecimals(t *testing.T) {
	b := string(written(t, degrees(orb.Polygon{{{9.1234567894, -1e-12}, {9.2, 0}, {9.2, 0.5}, {9.1234567894, -1e-12}}})))
	if !strings.Contains(b, "[[9.123456789,0],[9.2,0],[9.2,0.5],[9.123456789,0]]") {
		t.Error(b)
	}
}

func TestProjectedKeepsEveryBitAndNamesItsCRS(t *testing.T) {
	p := orb.Polygon{{{500000.1234, 5800000.1}, {500010.0000001, 5800000.1}, {500010, 5800010}, {500000.1234, 5800000.1}}}
	path := filepath.Join(t.TempDir(), "a.geojson")
	if err := WriteProjected(t.Context(), path, footprints(degrees(p)), utm32); err != nil {
		t.Fatal(err)
	}
	got, err := ReadPolygons(path)
	if err != nil {
		t.Fatal(err)
	}
	want := Polygons{Polygons: []orb.Polygon{p}, IDs: []string{"a"}, CRS: vector.CRS{Authority: "EPSG", Code: 25832}}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
	doc, members := parsed(t, content(t, path))
	if _, ok := members["crs"]; ok || doc.Features[0].Properties[CRSProperty] != "EPSG:25832" {
		t.Errorf("got %s", content(t, path))
	}
}

func TestWriteErrors(t *testing.T) {
	fails := func(orb.Point) (orb.Point, error) { return orb.Point{}, errors.New("outside the area of use") }
	unknown := degrees(box(0, 0, 1, 1))
	unknown.CRS = vector.CRS{Horizontal: vector.Metre}
	for _, c := range []struct {
		name string
		d    vector.Delivery
		to   Transform
		want string
	}{
		{"unknown CRS", unknown, identity, "the CRS is unknown"},
		{"no transform", degrees(box(0, 0, 1, 1)), nil, "no transformation"},
		{"failing transform", degrees(box(0, 0, 1, 1)), fails, "building a: position 0 0: outside the area of use"},
		{"not degrees", degrees(box(500000, 5800000, 500001, 5800001)), identity, "no longitude and latitude"},
	} {
		t.Run(c.name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "a.geojson")
			err := Write(t.Context(), path, c.d, c.to)
			if err == nil || !strings.Contains(err.Error(), c.want) || !strings.Contains(err.Error(), path) {
				t.Errorf("got %v", err)
			}
			if entries, _ := os.ReadDir(filepath.Dir(path)); len(entries) > 0 {
				t.Errorf("left %v", entries)
			}
		})
	}
}

func TestGDALReadsIt(t *testing.T) {
	ogrinfo, err := exec.LookPath("ogrinfo")
	if err != nil {
		t.Skip("ogrinfo is not installed: the file was not read by GDAL")
	}
	path := filepath.Join(t.TempDir(), "footprints.geojson")
	if err := Write(t.Context(), path, degrees(box(10, 48, 11, 49), box(12, 48, 13, 49.5)), identity); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command(ogrinfo, "-ro", "-al", "-so", path).CombinedOutput()
	if err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	for _, want := range []string{"Geometry: Polygon", "Feature Count: 2", "Extent: (10.000000, 48.000000) - (13.000000, 49.500000)", `ID["EPSG",4326]`, "building_id: String"} {
		if !strings.Contains(string(out), want) {
			t.Errorf("ogrinfo does not say %q:\n%s", want, out)
		}
	}
}

// Cutting at the line loses no area and gives valid polygons, wherever the
// outline lies on it.
func TestCutKeepsTheArea(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		centre := rapid.Float64Range(179, 181).Draw(t, "centre")
		n := rapid.IntRange(3, 12).Draw(t, "n")
		var ring orb.Ring
		for i := range n {
			r := rapid.Float64Range(0.2, 1).Draw(t, "r")
			sin, cos := math.Sincos(2 * math.Pi * float64(i) / float64(n))
			ring = append(ring, orb.Point{centre + r*cos, r * sin})
		}
		ring = append(ring, ring[0])
		want := topology.Area(orb.Polygon{ring})
		wrapped := ring.Clone()
		for i := range wrapped {
			wrapped[i][0] = wrap(wrapped[i][0])
		}
		var f feature
		if err := f.place(orb.Polygon{wrapped}); err != nil {
			t.Fatal(err)
		}
		var got float64
		for _, p := range f.parts {
			if err := topology.Validate(p.(orb.Polygon)); err != nil {
				t.Fatal(err)
			}
			if b := p.Bound(); b.Left() < -180 || b.Right() > 180 {
				t.Fatalf("part beyond the line: %v", p)
			}
			got += topology.Area(p.(orb.Polygon))
		}
		if math.Abs(got-want) > 1e-9 {
			t.Fatalf("area %v, want %v", got, want)
		}
	})
}

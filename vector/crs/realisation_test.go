package crs

import (
	"strings"
	"testing"

	"github.com/paulmach/orb"
)

// TestOperationNamesRealisations: which pairs are a null transformation is
// common practice: ETRS89 and NAD83 differ from WGS 84 by decimetres to metres
// that the EPSG dataset's (1) operations neglect.
func TestOperationNamesRealisations(t *testing.T) {
	for _, c := range []struct {
		from, to string
		at       orb.Point
		null     bool
		names    []string
	}{
		{"EPSG:25832", "EPSG:4326", orb.Point{500000, 5500000}, true, []string{"European Terrestrial Reference System 1989", "World Geodetic System 1984", "accuracy 1 m", "null transformation"}},
		{"EPSG:25832", "EPSG:25833", orb.Point{500000, 5500000}, false, []string{"exact by definition"}},
		{"EPSG:27700", "EPSG:4326", orb.Point{400000, 300000}, false, []string{"Ordnance Survey of Great Britain 1936", "accuracy 2 m"}},
		{"EPSG:26915", "EPSG:32615", orb.Point{500000, 4500000}, true, []string{"North American Datum 1983", "null transformation"}},
		{"EPSG:6344", "EPSG:26915", orb.Point{500000, 4500000}, true, []string{"National Spatial Reference System 2011", "North American Datum 1983"}},
	} {
		from, err := Parse(c.from)
		if err != nil {
			t.Fatal(err)
		}
		to, err := Parse(c.to)
		if err != nil {
			t.Fatal(err)
		}
		transformer, err := NewTransformer(from, to, c.at, Options{AllowBallpark: true})
		if err != nil {
			t.Fatal(err)
		}
		o := transformer.Operation()
		if o.Null != c.null && !o.Ballpark {
			t.Errorf("%s to %s: null is %v: %s", c.from, c.to, o.Null, o)
		}
		for _, name := range c.names {
			if !strings.Contains(o.String(), name) && !o.Ballpark {
				t.Errorf("%s to %s does not say %q: %s", c.from, c.to, name, o)
			}
		}
	}
}

func TestSameHeights(t *testing.T) {
	for _, c := range []struct {
		a, b string
		want bool
	}{
		{"EPSG:2263+5703", "EPSG:2263+6360", true}, {"EPSG:2263+5703", "EPSG:2263+5773", false}, {"EPSG:2263", "EPSG:2263+5703", false},
	} {
		a, _ := Parse(c.a)
		b, _ := Parse(c.b)
		if got := SameHeights(a, b); got != c.want {
			t.Errorf("%s and %s: %v", c.a, c.b, got)
		}
	}
}

// TestUndulation: 28.7068 m at Timbuktu is the example of the GeographicLib
// manual of GeoidEval for EGM96 (from memory; its grid is finer than that of
// PROJ, hence a decimetre).
func TestUndulation(t *testing.T) {
	got, ok := Undulation(WGS84(), orb.Point{-(3 + 34.0/3600), 16 + 46.0/60 + 33.0/3600})
	if !ok {
		t.Skip("the grid of the geoid is not installed")
	}
	if got < 28.6 || got > 28.8 {
		t.Errorf("%v, want 28.7068", got)
	}
}

// TestMissingGridBetweenProjectedCRSs: from the British National Grid to UTM the
// grid OSTN15 makes a decimetre of two metres; PROJ's copy of the EPSG dataset
// knows it whether or not it is installed.
func TestMissingGridBetweenProjectedCRSs(t *testing.T) {
	from, err := Parse("EPSG:27700")
	if err != nil {
		t.Fatal(err)
	}
	to, err := Parse("EPSG:25830")
	if err != nil {
		t.Fatal(err)
	}
	transformer, err := NewTransformer(from, to, orb.Point{400000, 300000}, Options{})
	if err != nil {
		t.Fatal(err)
	}
	o := transformer.Operation()
	if !strings.Contains(o.Better, "OSTN") && !strings.Contains(o.Name, "OSTN") && !(o.Accuracy <= 0.5) {
		t.Errorf("the grid is neither used nor missed: %s", o)
	}
}

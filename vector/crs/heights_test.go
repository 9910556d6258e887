package crs

import (
	"errors"
	"math"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"quoin/vector"
)

func compound(t *testing.T, text string) vector.CRS {
	t.Helper()
	c, err := Parse(text)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// Operations that need no grids: the Caspian datum lies 28 m below the Baltic one
// of 1977, and DHHN92 goes to EVRF2007 by an offset with a slope. Values are
// those of PROJ's own cs2cs (9.1).
func TestHeights(t *testing.T) {
	for _, c := range []struct {
		from, to string
		at       orb.Point
		z, want  float64
	}{
		{"EPSG:32639+5705", "EPSG:32639+5611", orb.Point{500000, 4700000}, 100, 128},
		{"EPSG:25832+5783", "EPSG:25832+5621", orb.Point{500000, 5700000}, 100, 100.0120},
		{"EPSG:25832+5783", "EPSG:25833+5621", orb.Point{500000, 5700000}, 100, 100.0120},
	} {
		h, err := NewHeights(compound(t, c.from), compound(t, c.to), c.at)
		if err != nil {
			t.Errorf("%s to %s: %v", c.from, c.to, err)
			continue
		}
		if z, err := h.Forward(c.at, c.z); err != nil || math.Abs(z-c.want) > 5e-5 {
			t.Errorf("%s to %s: %v, %v, want %v", c.from, c.to, z, err, c.want)
		}
		if z, err := h.Forward(c.at, math.NaN()); err != nil || !math.IsNaN(z) {
			t.Errorf("no height gives %v, %v", z, err)
		}
		if o := h.Operation(); o.Name == "" || o.From == o.To {
			t.Errorf("%+v", o)
		}
	}
}

// Without the grid, or without a relation on record, nothing is guessed.
func TestHeightsAreRefused(t *testing.T) {
	at := orb.Point{500000, 4700000}
	for name, c := range map[string]struct{ from, to, says string }{
		"grid":        {"EPSG:26915+5702", "EPSG:26915+5703", "vertcon"},
		"no relation": {"EPSG:25832+5783", "EPSG:25832+5703", ""},
		"not named":   {"EPSG:25832", "EPSG:25832+5783", "not named"},
	} {
		_, err := NewHeights(compound(t, c.from), compound(t, c.to), at)
		if !errors.Is(err, ErrHeights) || !strings.Contains(strings.ToLower(err.Error()), c.says) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// Heights above the ellipsoid go to EGM96 by its grid of 15', which Debian's
// proj-data carries. Values are those of cs2cs 9.1:
// echo "52 10 100" | cs2cs EPSG:4937 EPSG:4258+5773.
func TestEllipsoidalHeights(t *testing.T) {
	to := compound(t, "EPSG:25832+5773")
	for from, at := range map[string]orb.Point{"EPSG:4258": {10, 52}, "EPSG:25832": {568649.70, 5761510.32}} {
		h, err := NewEllipsoidalHeights(compound(t, from), to, at)
		if err != nil {
			t.Errorf("%s: %v", from, err)
			continue
		}
		if z, err := h.Forward(at, 100); err != nil || math.Abs(z-55.61) > 0.006 {
			t.Errorf("%s: %v, %v, want 55.61", from, z, err)
		}
		if o := h.Operation(); o.From == o.To || o.Name == "" {
			t.Errorf("%+v", o)
		}
	}
	for name, to := range map[string]string{"no model": "EPSG:25832+5783", "not named": "EPSG:25832"} {
		if _, err := NewEllipsoidalHeights(compound(t, "EPSG:25832"), compound(t, to), orb.Point{568650, 5761510}); !errors.Is(err, ErrHeights) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

package layer_test

import (
	"math"
	"regexp"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/paulmach/orb"

	"quoin/vector"
	"quoin/vector/layer"
)

// The columns that deliveries have promised since schema version 1.0.0. More
// may come; none of these may go.
func TestContract(t *testing.T) {
	promised := map[string][]string{
		"footprints":    {"building_id", "reference", "area_m2", "perimeter_m", "area", "perimeter", "ground_elevation", "eave_height", "ridge_height", "point_count", "edge_rms", "corner_sigma_max", "quality", "review"},
		"corners":       {"building_id", "ring", "vertex", "elevation", "sigma_e", "sigma_n", "cov_en", "sigma_u", "angle_deg", "kind"},
		"corner_checks": {"control_id", "building_id", "delta_e", "delta_n", "delta_u", "used", "reason"},
		"held_back":     {"reason"},
		"sides":         {"building_id", "ring", "edge", "length", "overhang"},
		"wall_outlines": {"building_id", "reference"},
		"image_checks":  {"building_id", "delta_e", "delta_n", "sigma_e", "sigma_n", "size_bias", "residual", "agreement"},
		"arcs":          {"building_id", "radius"},
		"adjustments":   {"building_id", "parameters", "covariance"},
		"roof_parts":    {"building_id", "part", "pitch_deg", "aspect_deg", "eave_elevation", "ridge_elevation", "area_m2", "plane_rms", "point_count"},
	}
	found := map[string]bool{}
	for _, l := range layer.All() {
		found[l.Name] = true
		have := map[string]bool{}
		for _, c := range l.Columns {
			have[c.Name] = true
		}
		for _, name := range promised[l.Name] {
			if !have[name] {
				t.Errorf("%s has no column %s", l.Name, name)
			}
		}
	}
	if len(found) != len(promised) {
		t.Errorf("layers %v", found)
	}
}

// Names are what OGC 12-128r17 recommends: lower case, digits, underscores, and
// different within 30 bytes; and every column says what it is.
func TestNamesAndTexts(t *testing.T) {
	name := regexp.MustCompile(`^[a-z][a-z0-9_]{0,29}$`)
	for _, l := range layer.All() {
		if !name.MatchString(l.Name) || l.Title == "" || l.Description == "" {
			t.Errorf("layer %+v", l)
		}
		seen := map[string]bool{"fid": true, "geom": true}
		for _, c := range l.Columns {
			if !name.MatchString(c.Name) || seen[c.Name] || c.Title == "" || c.Description == "" {
				t.Errorf("%s: column %+v", l.Name, c)
			}
			seen[c.Name] = true
		}
	}
}

func TestRowsHaveTheTypesOfTheColumns(t *testing.T) {
	for name, d := range deliveries() {
		for _, l := range layer.All() {
			for row := range l.Rows(d) {
				if len(row.Values) != len(l.Columns) {
					t.Fatalf("%s, %s: %d values for %d columns", name, l.Name, len(row.Values), len(l.Columns))
				}
				for i, c := range l.Columns {
					ok := row.Values[i] == nil
					switch v := row.Values[i].(type) {
					case string:
						ok = c.Type == layer.Text
					case float64:
						ok = c.Type == layer.Real && !math.IsNaN(v) && !math.IsInf(v, 0)
					case int64:
						ok = c.Type == layer.Integer
					case bool:
						ok = c.Type == layer.Boolean
					}
					if !ok {
						t.Errorf("%s, %s.%s: %T", name, l.Name, c.Name, row.Values[i])
					}
				}
			}
		}
	}
}

func TestRowsStopWhenAsked(t *testing.T) {
	for _, l := range layer.All() {
		n := 0
		for range l.Rows(small()) {
			n++
			break
		}
		if n != 1 {
			t.Errorf("%s: %d rows", l.Name, n)
		}
	}
}

// A square of 10 with a courtyard of 2: area 100 − 4, length 40 + 8. In US
// survey feet a square foot is (1200/3937)² m².
func TestAreaAndPerimeter(t *testing.T) {
	for _, c := range []struct {
		name   string
		unit   vector.Unit
		m2, m  any
		sqUnit string
	}{
		{"metre", vector.Metre, 96.0, 48.0, "square metre"},
		// To four decimals: 96 · 0.0929034116 and 48 · 0.3048006096.
		{"US survey foot", vector.USSurveyFoot, 8.9187, 14.6304, "square US survey foot"},
		{"unknown", vector.Unit{}, nil, nil, "square unit of the coordinates"},
	} {
		t.Run(c.name, func(t *testing.T) {
			d := small()
			d.CRS.Horizontal = c.unit
			l := layer.Footprints()
			for row := range l.Rows(d) {
				got := map[string]any{}
				for i, column := range l.Columns {
					got[column.Name] = row.Values[i]
				}
				for name, want := range map[string]any{"area": 96.0, "perimeter": 48.0, "area_m2": c.m2, "perimeter_m": c.m, "corner_sigma_max": 0.04} {
					a, isNumber := want.(float64)
					b, _ := got[name].(float64)
					if isNumber && math.Abs(a-b) > 1e-9 || !isNumber && got[name] != nil {
						t.Errorf("%s: got %v, want %v", name, got[name], want)
					}
				}
			}
			if got := layer.GridArea.Unit(d.CRS); got != c.sqUnit {
				t.Errorf("unit %q", got)
			}
		})
	}
}

func TestValuesAreRounded(t *testing.T) {
	c := vector.Corner{Elevation: 36.123456, SigmaE: 0.0123456789, CovEN: -1.23456789e-5, AngleDeg: -1e-9}
	for row := range layer.Corners().Rows(vector.Delivery{Footprints: []vector.Footprint{{Corners: []vector.Corner{c}}}}) {
		got := map[string]any{}
		for i, column := range layer.Corners().Columns {
			got[column.Name] = row.Values[i]
		}
		for name, want := range map[string]float64{"elevation": 36.1235, "sigma_e": 0.012346, "cov_en": -1.2345679e-5, "angle_deg": 0} {
			if v, _ := got[name].(float64); v != want || math.Signbit(v) != math.Signbit(want) {
				t.Errorf("%s: got %v, want %v", name, got[name], want)
			}
		}
	}
}

func TestUnits(t *testing.T) {
	crs := vector.CRS{Horizontal: vector.USSurveyFoot, Vertical: vector.Metre}
	got := map[string]string{}
	for name, q := range map[string]layer.Quantity{
		"none": layer.Dimensionless, "length": layer.GridLength, "covariance": layer.GridCovariance,
		"height": layer.GridHeight, "m": layer.Metres, "m2": layer.SquareMetres, "angle": layer.Degrees,
	} {
		got[name] = q.Unit(crs)
	}
	want := map[string]string{
		"none": "", "length": "US survey foot", "covariance": "square US survey foot",
		"height": "metre", "m": "metre", "m2": "square metre", "angle": "degree",
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("(-want +got):\n%s", diff)
	}
}

func TestPointsThatAreNowhereHaveNoGeometry(t *testing.T) {
	d := vector.Delivery{Checks: []vector.CornerCheck{{Surveyed: orb.Point{math.NaN(), 1}}}}
	for row := range layer.CornerChecks().Rows(d) {
		if row.Geometry != nil {
			t.Errorf("got %v", row.Geometry)
		}
	}
}

package style

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"math"
	"slices"
	"strconv"
	"testing"

	"quoin/vector/layer"
)

// order of the children that the schemas of SE 1.1 and SLD 1.1 ask for, of the
// elements in use (from memory: no schema was at hand).
var order = map[string][]string{
	"NamedLayer":        {"Name", "UserStyle"},
	"UserStyle":         {"Name", "Description", "IsDefault", "FeatureTypeStyle"},
	"Rule":              {"Name", "Description", "Filter", "ElseFilter", "MinScaleDenominator", "MaxScaleDenominator", "PolygonSymbolizer", "LineSymbolizer", "PointSymbolizer"},
	"PolygonSymbolizer": {"Fill", "Stroke"},
	"Graphic":           {"Mark", "Opacity", "Size"},
	"Mark":              {"WellKnownName", "Fill", "Stroke"},
}

// Each layer with geometries has a style whose elements are in the order of the
// schemas and whose filters name columns that it has.
func TestStylesAreInOrder(t *testing.T) {
	for _, l := range append(layer.All(), layer.Layer{Name: "added", Title: "A & B", Geometry: layer.Point}) {
		if l.Geometry == layer.None {
			continue
		}
		var path []string
		last := map[string]int{}
		symbols := 0
		d := xml.NewDecoder(bytes.NewReader(SLD(l)))
		for {
			token, err := d.Token()
			if errors.Is(err, io.EOF) {
				break
			}
			if err != nil {
				t.Fatalf("%s: %v", l.Name, err)
			}
			switch e := token.(type) {
			case xml.StartElement:
				if len(path) > 0 {
					parent := path[len(path)-1]
					if want, ok := order[parent]; ok {
						at := slices.Index(want, e.Name.Local)
						if at < 0 || at < last[parent] {
							t.Errorf("%s: %s within %s is out of order", l.Name, e.Name.Local, parent)
						}
						last[parent] = at
					}
				}
				last[e.Name.Local] = 0
				path = append(path, e.Name.Local)
				if e.Name.Local == "PropertyName" {
					var column string
					if err := d.DecodeElement(&column, &e); err != nil || l.Column(column) < 0 || len(column) > 10 {
						t.Errorf("%s: filter on %q, %v", l.Name, column, err)
					}
					path = path[:len(path)-1]
				}
				if e.Name.Local == "Rule" {
					symbols++
				}
			case xml.EndElement:
				path = path[:len(path)-1]
			}
		}
		if symbols == 0 {
			t.Errorf("%s is not drawn", l.Name)
		}
	}
}

// Colours stay apart for people who lack the red or the green cones: simulated
// with the matrices of Viénot, Brettel and Mollon (1999; from memory), compared by
// the CIE 1976 difference, of which 2.3 is just noticeable (Mahy et al. 1994; from
// memory) and 20 plain to see (common practice, no source).
func TestColoursAreSafe(t *testing.T) {
	colours := []string{ink, roof, look, quiet, paper}
	for name, m := range map[string][3][3]float64{
		"full colour vision": {{1, 0, 0}, {0, 1, 0}, {0, 0, 1}},
		"no red cones":       {{0.11238, 0.88762, 0}, {0.11238, 0.88762, 0}, {0.00401, -0.00401, 1}},
		"no green cones":     {{0.29275, 0.70725, 0}, {0.29275, 0.70725, 0}, {-0.02234, 0.02234, 1}},
	} {
		for i, a := range colours {
			for _, b := range colours[:i] {
				p, q := lab(seen(m, a)), lab(seen(m, b))
				if d := math.Hypot(math.Hypot(p[0]-q[0], p[1]-q[1]), p[2]-q[2]); d < 20 {
					t.Errorf("%s: %s and %s differ by %.1f", name, a, b, d)
				}
			}
		}
	}
	for i, a := range colours[1:] {
		if before := colours[i]; lab(linear(a))[0]-lab(linear(before))[0] < 10 {
			t.Errorf("%s is not plainly lighter than %s", a, before)
		}
	}
}

// linear returns the linear values of an sRGB colour (IEC 61966-2-1).
func linear(hex string) (out [3]float64) {
	for i := range out {
		n, err := strconv.ParseUint(hex[1+2*i:3+2*i], 16, 8)
		if err != nil {
			panic(err)
		}
		if v := float64(n) / 255; v <= 0.04045 {
			out[i] = v / 12.92
		} else {
			out[i] = math.Pow((v+0.055)/1.055, 2.4)
		}
	}
	return out
}

func seen(m [3][3]float64, hex string) (out [3]float64) {
	in := linear(hex)
	for i := range out {
		for k := range in {
			out[i] += m[i][k] * in[k]
		}
		out[i] = min(max(out[i], 0), 1)
	}
	return out
}

// lab returns CIE L*a*b* under D65 of linear sRGB values.
func lab(c [3]float64) [3]float64 {
	f := func(v float64) float64 {
		if v > 216.0/24389 {
			return math.Cbrt(v)
		}
		return (24389.0/27*v + 16) / 116
	}
	x := f((0.4124*c[0] + 0.3576*c[1] + 0.1805*c[2]) / 0.9505)
	y := f(0.2126*c[0] + 0.7152*c[1] + 0.0722*c[2])
	z := f((0.0193*c[0] + 0.1192*c[1] + 0.9505*c[2]) / 1.089)
	return [3]float64{116*y - 16, 500 * (x - y), 200 * (y - z)}
}

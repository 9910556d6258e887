//go:build cgo

package georef_test

import (
	"encoding/binary"
	"math"
	"testing"

	"quoin/extract/las/georef"
	"quoin/vector"
	"quoin/vector/crs"
)

// spelled lays out keys with their values: whole numbers in the directory, the
// others in the doubles.
func spelled(shorts map[uint16]uint16, numbers map[uint16]float64) georef.Keys {
	var k georef.Keys
	k.Directory = words(1, 1, 0, uint16(len(shorts)+len(numbers)))
	for key, v := range shorts {
		k.Directory = append(k.Directory, words(key, 0, 1, v)...)
	}
	for key, v := range numbers {
		k.Directory = append(k.Directory, words(key, georef.RecordDoubles, 1, uint16(len(k.Doubles)/8))...)
		k.Doubles = binary.LittleEndian.AppendUint64(k.Doubles, math.Float64bits(v))
	}
	return k
}

// Projections of the EPSG dataset, spelled out with its parameters: PROJ must
// hold them for the same.
func TestSpelledOutProjections(t *testing.T) {
	for _, tt := range []struct {
		name    string
		shorts  map[uint16]uint16
		numbers map[uint16]float64
		code    int
		unit    vector.Unit
	}{
		{
			"California zone 5, US survey feet",
			map[uint16]uint16{1024: 1, 3072: 32767, 2048: 4269, 3075: 8, 3076: 9003},
			map[uint16]float64{3078: 35 + 28.0/60, 3079: 34 + 2.0/60, 3084: -118, 3085: 33.5, 3086: 6561666.667, 3087: 1640416.667},
			2229, vector.USSurveyFoot,
		},
		{
			"the same with the keys of the natural origin",
			map[uint16]uint16{1024: 1, 3072: 32767, 2048: 4269, 2054: 9102, 3075: 8, 3076: 9003},
			map[uint16]float64{3078: 35 + 28.0/60, 3079: 34 + 2.0/60, 3080: -118, 3081: 33.5, 3082: 6561666.667, 3083: 1640416.667},
			2229, vector.USSurveyFoot,
		},
		{
			"UTM zone 17",
			map[uint16]uint16{1024: 1, 3072: 32767, 2048: 4269, 3075: 1, 3076: 9001},
			map[uint16]float64{3080: -81, 3081: 0, 3082: 500000, 3083: 0, 3092: 0.9996},
			26917, vector.Metre,
		},
		{
			"British Columbia Albers",
			map[uint16]uint16{1024: 1, 3072: 32767, 2048: 4617, 3075: 11, 3076: 9001},
			map[uint16]float64{3078: 50, 3079: 58.5, 3080: -126, 3081: 45, 3082: 1000000, 3083: 0},
			3153, vector.Metre,
		},
	} {
		t.Run(tt.name, func(t *testing.T) {
			c, warnings, err := spelled(tt.shorts, tt.numbers).CRS()
			if err != nil || len(warnings) > 0 || c.Code != 0 || c.Horizontal != tt.unit {
				t.Fatalf("got %+v, %q, %v", c, warnings, err)
			}
			if got, err := georef.FromWKT(c.WKT); err != nil || got.Horizontal != tt.unit || got.Kind != vector.ProjectedCRS {
				t.Errorf("the text is read as %+v, %v", got, err)
			}
			coded := vector.CRS{Authority: "EPSG", Code: tt.code}
			if !crs.Same(c, coded) {
				t.Errorf("not the same as %v: %s", coded, c.WKT)
			}
			if full, _, err := crs.Complete(c); err != nil || full.Code != 0 && full.Code != tt.code {
				t.Errorf("taken for %v, %v", full, err)
			}
		})
	}
}

func TestSpelledOutProjectionsThatCannotBePutTogether(t *testing.T) {
	for name, change := range map[string]func(s map[uint16]uint16, n map[uint16]float64){
		"no datum":        func(s map[uint16]uint16, _ map[uint16]float64) { delete(s, 2048) },
		"no unit":         func(s map[uint16]uint16, _ map[uint16]float64) { delete(s, 3076) },
		"grads":           func(s map[uint16]uint16, _ map[uint16]float64) { s[2054] = 9105 },
		"another method":  func(s map[uint16]uint16, _ map[uint16]float64) { s[3075] = 3 },
		"no scale":        func(_ map[uint16]uint16, n map[uint16]float64) { delete(n, 3092) },
		"a scale of NaN":  func(_ map[uint16]uint16, n map[uint16]float64) { n[3092] = math.NaN() },
		"no false origin": func(_ map[uint16]uint16, n map[uint16]float64) { delete(n, 3082) },
	} {
		shorts := map[uint16]uint16{1024: 1, 3072: 32767, 2048: 4269, 3075: 1, 3076: 9001}
		numbers := map[uint16]float64{3080: -81, 3081: 0, 3082: 500000, 3083: 0, 3092: 0.9996}
		change(shorts, numbers)
		c, warnings, err := spelled(shorts, numbers).CRS()
		if err != nil || len(warnings) != 1 || c.Known() {
			t.Errorf("%s: got %+v, %q, %v", name, c, warnings, err)
		}
	}
}

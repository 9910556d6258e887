package georef_test

import (
	"encoding/binary"
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"quoin/extract/las/georef"
	"quoin/vector"
)

// Definitions in the manner of OGC 01-009 (WKT 1) and OGC 18-010 (WKT 2);
// codes, names and units are those of the EPSG dataset.
func TestFromWKT(t *testing.T) {
	const geographic = `GEOGCS["NAD83(2011)",DATUM["NAD83",SPHEROID["GRS 1980",6378137,298.257222101]],UNIT["degree",0.0174532925199433],AUTHORITY["EPSG","6318"]]`
	for _, tt := range []struct {
		name, wkt string
		want      vector.CRS
	}{
		{
			"version 1, US survey feet",
			`PROJCS["Tennessee",` + geographic + `,PROJECTION["Lambert_Conformal_Conic_2SP"],UNIT["US survey foot",0.304800609601219,AUTHORITY["EPSG","9003"]],AXIS["Easting",EAST],AXIS["Northing",NORTH],AUTHORITY["EPSG","6576"]]`,
			vector.CRS{Name: "Tennessee", Kind: vector.ProjectedCRS, Authority: "EPSG", Code: 6576, Horizontal: vector.USSurveyFoot},
		},
		{
			"version 1, compound, a unit of its own for heights",
			`COMPD_CS["both",PROJCS["Tennessee",` + geographic + `,UNIT["Foot_US",0.3048006096],AUTHORITY["EPSG","6576"]],VERT_CS["NAVD88 height",VERT_DATUM["NAVD",2005],UNIT["metre",1],AXIS["Up",UP],AUTHORITY["EPSG","5703"]]]`,
			vector.CRS{Name: "both", Kind: vector.ProjectedCRS, Authority: "EPSG", Code: 6576, VerticalCode: 5703, Horizontal: vector.USSurveyFoot, Vertical: vector.Metre},
		},
		{
			"version 2, unit of all axes",
			`PROJCRS["UTM 32", BASEGEOGCRS["ETRS89",DATUM["d",ELLIPSOID["GRS 1980",6378137,298.257222101,LENGTHUNIT["metre",1]]]], CONVERSION["z",METHOD["Transverse Mercator",ID["EPSG",9807]]], CS[Cartesian,2],AXIS["(E)",east],AXIS["(N)",north],LENGTHUNIT["metre",1],ID["EPSG",25832]]`,
			vector.CRS{Name: "UTM 32", Kind: vector.ProjectedCRS, Authority: "EPSG", Code: 25832, Horizontal: vector.Metre},
		},
		{
			"version 2, compound, units in the axes",
			`COMPOUNDCRS["both",PROJCRS["a",BASEGEOGCRS["b"],CS[Cartesian,2],AXIS["x",east,LENGTHUNIT["foot",0.3048]],AXIS["y",north,LENGTHUNIT["foot",0.3048]]],VERTCRS["h",VDATUM["v"],CS[vertical,1],AXIS["H",up,LENGTHUNIT["US survey foot",0.304800609601219]],ID["EPSG",6360]]]`,
			vector.CRS{Name: "both", Kind: vector.ProjectedCRS, VerticalCode: 6360, Horizontal: vector.Foot, Vertical: vector.USSurveyFoot},
		},
		{
			"version 2, three axes",
			`GEOGCRS["WGS 84",DATUM["d"],CS[ellipsoidal,3],AXIS["lat",north,ANGLEUNIT["degree",0.017]],AXIS["lon",east,ANGLEUNIT["degree",0.017]],AXIS["h",up,LENGTHUNIT["metre",1]],ID["EPSG",4979]]`,
			vector.CRS{Name: "WGS 84", Kind: vector.GeographicCRS, Authority: "EPSG", Code: 4979, Vertical: vector.Metre},
		},
		{"geographic", geographic, vector.CRS{Name: "NAD83(2011)", Kind: vector.GeographicCRS, Authority: "EPSG", Code: 6318}},
		{"geocentric", `GEOCCS["x",DATUM["d"],UNIT["metre",1]]`, vector.CRS{Name: "x", Kind: vector.GeocentricCRS, Horizontal: vector.Metre}},
		{"geocentric, version 2", `GEODCRS["x",DATUM["d"],CS[Cartesian,3],AXIS["X",geocentricX],AXIS["Y",geocentricY],AXIS["Z",geocentricZ],LENGTHUNIT["metre",1]]`, vector.CRS{Name: "x", Kind: vector.GeocentricCRS, Horizontal: vector.Metre}},
		{"local, round brackets, lower case", `local_cs("site",unit("metre",1))`, vector.CRS{Name: "site", Kind: vector.LocalCRS, Horizontal: vector.Metre}},
		{"bound", `BOUNDCRS[SOURCECRS[PROJCRS["p",CS[Cartesian,2],LENGTHUNIT["metre",1],ID["EPSG",25832]]],TARGETCRS[GEOGCRS["w"]]]`, vector.CRS{Kind: vector.ProjectedCRS, Authority: "EPSG", Code: 25832, Horizontal: vector.Metre}},
		{"web Mercator by code", `PROJCS["x",UNIT["metre",1],AUTHORITY["EPSG","3857"]]`, vector.CRS{Name: "x", Kind: vector.WebMercatorCRS, Authority: "EPSG", Code: 3857, Horizontal: vector.Metre}},
		{"web Mercator by method", `PROJCS["x",PROJECTION["Mercator_Auxiliary_Sphere"],UNIT["Meter",1.0]]`, vector.CRS{Name: "x", Kind: vector.WebMercatorCRS, Horizontal: vector.Metre}},
		{"web Mercator by method, version 2", `PROJCRS["x",CONVERSION["c",METHOD["Popular Visualisation Pseudo Mercator"]]]`, vector.CRS{Name: "x", Kind: vector.WebMercatorCRS}},
		{"web Mercator by extension", `PROJCS["x",PROJECTION["Mercator_1SP"],UNIT["metre",1],EXTENSION["PROJ4","+proj=merc +a=6378137 +b=6378137 +nadgrids=@null"]]`, vector.CRS{Name: "x", Kind: vector.WebMercatorCRS, Horizontal: vector.Metre}},
		{"a true Mercator", `PROJCS["x",PROJECTION["Mercator_1SP"],UNIT["metre",1]]`, vector.CRS{Name: "x", Kind: vector.ProjectedCRS, Horizontal: vector.Metre}},
		{"quotes in the name", `LOCAL_CS["the ""old"" site, [1]"]`, vector.CRS{Name: `the "old" site, [1]`, Kind: vector.LocalCRS}},
		{"a unit of another length", `LOCAL_CS["x",UNIT["Clarke's foot",0.3047972654]]`, vector.CRS{Name: "x", Kind: vector.LocalCRS, Horizontal: vector.Unit{Name: "Clarke's foot", Symbol: "Clarke's foot", Metres: 0.3047972654}}},
		{"heights only", `VERT_CS["h",UNIT["metre",1],AUTHORITY["EPSG","5703"]]`, vector.CRS{Name: "h", VerticalCode: 5703, Vertical: vector.Metre}},
		{"something else", `TIMECRS["t"]`, vector.CRS{Name: "t"}},
		{"numbers that are none", `LOCAL_CS["x",UNIT["metre",NaN],AUTHORITY["EPSG","-3"]]`, vector.CRS{Name: "x", Kind: vector.LocalCRS}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			got, err := georef.FromWKT(tt.wkt + "\x00\x00")
			if err != nil {
				t.Fatal(err)
			}
			tt.want.WKT = tt.wkt
			if d := cmp.Diff(tt.want, got); d != "" {
				t.Error(d)
			}
		})
	}
}

func TestFromWKTRefuses(t *testing.T) {
	for name, s := range map[string]string{
		"nothing": "", "spaces": "  \x00", "a word": "PROJCS", "no keyword": `["a"]`, "open bracket": "PROJCS[", "open quote": `PROJCS["a`,
		"inner open": `PROJCS["a",UNIT["b",1]`, "text behind": `PROJCS["a"]]`, "two": `A["b"],C["d"]`, "no comma": `A["b" "c"]`,
		"deep": strings.Repeat("A[", 1<<18), "long": `A["` + strings.Repeat("x", 1<<21) + `"]`,
	} {
		if c, err := georef.FromWKT(s); err == nil {
			t.Errorf("%s: got %+v", name, c)
		}
	}
}

// words lays out 16-bit values as a key directory has them.
func words(values ...uint16) []byte {
	var b []byte
	for _, v := range values {
		b = binary.LittleEndian.AppendUint16(b, v)
	}
	return b
}

// Keys and values: OGC GeoTIFF 1.1 (19-008r4), section 7 and annex B.
func TestKeys(t *testing.T) {
	doubles := binary.LittleEndian.AppendUint64(nil, math.Float64bits(0.3048006096))
	for _, tt := range []struct {
		name     string
		keys     georef.Keys
		want     vector.CRS
		warnings int
	}{
		{
			"UTM with heights",
			georef.Keys{
				Directory: words(1, 1, 0, 6, 1024, 0, 1, 1, 1026, 34737, 6, 0, 3072, 0, 1, 25832, 3076, 0, 1, 9001, 4096, 0, 1, 7837, 4099, 0, 1, 9001),
				ASCII:     []byte("UTM32|\x00"),
			},
			vector.CRS{Name: "UTM32", Kind: vector.ProjectedCRS, Authority: "EPSG", Code: 25832, VerticalCode: 7837, Horizontal: vector.Metre, Vertical: vector.Metre},
			0,
		},
		{
			"feet of both kinds",
			georef.Keys{Directory: words(1, 1, 0, 4, 1024, 0, 1, 1, 3072, 0, 1, 2256, 3076, 0, 1, 9002, 4099, 0, 1, 9003)},
			vector.CRS{Kind: vector.ProjectedCRS, Authority: "EPSG", Code: 2256, Horizontal: vector.Foot, Vertical: vector.USSurveyFoot},
			0,
		},
		{"no model", georef.Keys{Directory: words(1, 1, 0, 1, 3072, 0, 1, 2154)}, vector.CRS{Kind: vector.ProjectedCRS, Authority: "EPSG", Code: 2154}, 0},
		{"degrees", georef.Keys{Directory: words(1, 1, 0, 2, 1024, 0, 1, 2, 2048, 0, 1, 4326)}, vector.CRS{Kind: vector.GeographicCRS, Authority: "EPSG", Code: 4326}, 0},
		{"geocentric", georef.Keys{Directory: words(1, 1, 0, 2, 1024, 0, 1, 3, 2048, 0, 1, 4978)}, vector.CRS{Kind: vector.GeocentricCRS, Authority: "EPSG", Code: 4978}, 0},
		{"web Mercator", georef.Keys{Directory: words(1, 1, 0, 2, 1024, 0, 1, 1, 3072, 0, 1, 3857)}, vector.CRS{Kind: vector.WebMercatorCRS, Authority: "EPSG", Code: 3857}, 0},
		{
			"a projection and a unit of its own",
			georef.Keys{
				Directory: words(1, 1, 0, 5, 1024, 0, 1, 1, 3072, 0, 1, 32767, 3073, 34737, 100, 0, 3076, 0, 1, 32767, 3077, 34736, 1, 0),
				Doubles:   doubles, ASCII: []byte("site grid|"),
			},
			vector.CRS{Name: "site grid", Kind: vector.ProjectedCRS, Horizontal: vector.USSurveyFoot},
			1,
		},
		{
			"NAVD 88 by the code of its datum",
			georef.Keys{Directory: words(1, 1, 0, 4, 1024, 0, 1, 1, 3072, 0, 1, 2229, 4096, 0, 1, 5103, 4099, 0, 1, 9003)},
			vector.CRS{Kind: vector.ProjectedCRS, Authority: "EPSG", Code: 2229, VerticalCode: 6360, Vertical: vector.USSurveyFoot},
			1,
		},
		{
			"pointers to nowhere",
			georef.Keys{Directory: words(1, 1, 0, 4, 1024, 0, 1, 1, 1026, 34737, 65535, 65535, 3076, 0, 1, 32767, 3077, 34736, 1, 65535)},
			vector.CRS{Kind: vector.ProjectedCRS},
			0,
		},
	} {
		t.Run(tt.name, func(t *testing.T) {
			got, warnings, err := tt.keys.CRS()
			if err != nil {
				t.Fatal(err)
			}
			if d := cmp.Diff(tt.want, got); d != "" || len(warnings) != tt.warnings {
				t.Errorf("%s%q", d, warnings)
			}
			if !georef.HasKeys(got) {
				return
			}
			if again, _, err := georef.KeysOf(got).CRS(); err != nil || again != got {
				t.Errorf("written and read: %+v, %v", again, err)
			}
		})
	}
}

func TestKeysRefuse(t *testing.T) {
	for name, b := range map[string][]byte{
		"nothing": nil, "half a header": words(1, 1), "another version": words(2, 1, 0, 0), "more keys than room": words(1, 1, 0, 2, 1024, 0, 1, 1),
	} {
		if _, _, err := (georef.Keys{Directory: b}).CRS(); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
}

// The two feet stay apart however few digits they are printed with:
// 1200/3937 m (US survey foot) and 0.3048 m (exact, international).
func TestUnitOfLengthTellsTheFeetApart(t *testing.T) {
	for metres, want := range map[float64]vector.Unit{
		1: vector.Metre, 0.3048: vector.Foot, 1200.0 / 3937: vector.USSurveyFoot, 0.304800609601219: vector.USSurveyFoot,
		0.3048006: vector.USSurveyFoot, 0.304801: vector.USSurveyFoot, 0.30480000001: vector.Foot,
	} {
		if got := georef.UnitOfLength("x", metres); got != want {
			t.Errorf("%.12g m is %v, want %v", metres, got, want)
		}
	}
	for _, metres := range []float64{0, -1, math.NaN(), math.Inf(1)} {
		if got := georef.UnitOfLength("x", metres); got.Known() {
			t.Errorf("%g m is a unit: %v", metres, got)
		}
	}
}

func FuzzFromWKT(f *testing.F) {
	f.Add(`PROJCS["a",GEOGCS["b",UNIT["degree",0.017]],UNIT["metre",1],AUTHORITY["EPSG","25832"]]`)
	f.Add(`COMPOUNDCRS["both",PROJCRS["a",CS[Cartesian,2],AXIS["x",east,LENGTHUNIT["foot",0.3048]]],VERTCRS["h",ID["EPSG",6360]]]`)
	f.Add(`BOUNDCRS[SOURCECRS[BOUNDCRS[SOURCECRS[GEOCCS["x"]]]]]`)
	f.Fuzz(func(t *testing.T, s string) {
		c, err := georef.FromWKT(s)
		if err == nil && c.WKT == "" {
			t.Errorf("%q was read as nothing", s)
		}
	})
}

func FuzzKeys(f *testing.F) {
	f.Add(words(1, 1, 0, 2, 1024, 0, 1, 1, 3072, 0, 1, 25832), []byte{}, []byte("text|"))
	f.Fuzz(func(t *testing.T, directory, doubles, ascii []byte) {
		c, _, err := georef.Keys{Directory: directory, Doubles: doubles, ASCII: ascii}.CRS()
		if err == nil && c.Code < 0 {
			t.Errorf("code %d", c.Code)
		}
	})
}

package crs_test

import (
	"errors"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"quoin/vector"
	"quoin/vector/crs"
)

// Names, kinds and units are those of the EPSG dataset.
func TestParseKnowsKindsAndUnits(t *testing.T) {
	for _, tt := range []struct {
		text string
		want vector.CRS
	}{
		{"EPSG:25832", vector.CRS{Name: "ETRS89 / UTM zone 32N", Kind: vector.ProjectedCRS, Authority: "EPSG", Code: 25832, Horizontal: vector.Metre}},
		{" 2154 ", vector.CRS{Name: "RGF93 v1 / Lambert-93", Kind: vector.ProjectedCRS, Authority: "EPSG", Code: 2154, Horizontal: vector.Metre}},
		{"epsg:6576+6360", vector.CRS{Name: "NAD83(2011) / Tennessee (ftUS)", Kind: vector.ProjectedCRS, Authority: "EPSG", Code: 6576, VerticalCode: 6360, Horizontal: vector.USSurveyFoot, Vertical: vector.USSurveyFoot}},
		{"EPSG:2256+EPSG:8228", vector.CRS{Name: "NAD83 / Montana (ft)", Kind: vector.ProjectedCRS, Authority: "EPSG", Code: 2256, VerticalCode: 8228, Horizontal: vector.Foot, Vertical: vector.Foot}},
		{"EPSG:5555", vector.CRS{Name: "ETRS89 / UTM zone 32N", Kind: vector.ProjectedCRS, Authority: "EPSG", Code: 25832, VerticalCode: 5783, Horizontal: vector.Metre, Vertical: vector.Metre}},
		{"EPSG:3857", vector.CRS{Name: "WGS 84 / Pseudo-Mercator", Kind: vector.WebMercatorCRS, Authority: "EPSG", Code: 3857, Horizontal: vector.Metre}},
		{"ESRI:102100", vector.CRS{Name: "WGS_1984_Web_Mercator_Auxiliary_Sphere", Kind: vector.WebMercatorCRS, Authority: "ESRI", Code: 102100, Horizontal: vector.Metre}},
		{"EPSG:4326", vector.CRS{Name: "WGS 84", Kind: vector.GeographicCRS, Authority: "EPSG", Code: 4326}},
		{"EPSG:4979", vector.CRS{Name: "WGS 84", Kind: vector.GeographicCRS, Authority: "EPSG", Code: 4979, Vertical: vector.Metre}},
		{"EPSG:4978", vector.CRS{Name: "WGS 84", Kind: vector.GeocentricCRS, Authority: "EPSG", Code: 4978, Horizontal: vector.Metre}},
		{`LOCAL_CS["site",UNIT["US survey foot",0.304800609601219]]`, vector.CRS{Name: "site", Kind: vector.LocalCRS, Horizontal: vector.USSurveyFoot}},
	} {
		t.Run(tt.text, func(t *testing.T) {
			got := mustParse(t, tt.text)
			if got.WKT == "" {
				t.Error("no definition")
			}
			got.WKT = ""
			if d := cmp.Diff(tt.want, got); d != "" {
				t.Error(d)
			}
		})
	}
}

func TestParseRefuses(t *testing.T) {
	for name, text := range map[string]string{
		"nothing":           "",
		"a word":            "somewhere",
		"no such code":      "EPSG:99999",
		"negative code":     "EPSG:-4",
		"code too large":    "EPSG:99999999999999999999",
		"heights only":      "EPSG:5703",
		"no heights":        "EPSG:25832+2154",
		"no such height":    "EPSG:25832+1",
		"other authority":   "NOBODY:25832",
		"cut off":           `PROJCS["a",GEOGCS["b"`,
		"no CRS":            `ELLIPSOID["GRS 1980",6378137,298.257222101]`,
		"heights as text":   `VERT_CS["h",VERT_DATUM["d",2005],UNIT["metre",1]]`,
		"zero byte":         "LOCAL_CS[\"a\x00b\",UNIT[\"metre\",1]]",
		"deep":              strings.Repeat("PROJCS[", 100000),
		"long":              `LOCAL_CS["` + strings.Repeat("a", 1<<20) + `",UNIT["metre",1]]`,
		"a file":            "/etc/passwd[",
		"projection string": "+proj=utm +zone=32 (",
		"nan unit":          `LOCAL_CS["a",UNIT["metre",nan]`,
	} {
		if c, err := crs.Parse(text); err == nil {
			t.Errorf("%s: got %+v", name, c)
		} else if msg := err.Error(); len(msg) > 1000+len(text) || !strings.HasPrefix(msg, "crs: ") {
			t.Errorf("%s: message %.80q", name, msg)
		}
	}
}

func TestCompleteFillsInWhatAFileLeavesOut(t *testing.T) {
	got, warnings, err := crs.Complete(vector.CRS{Authority: "EPSG", Code: 3645, VerticalCode: 5703, Kind: vector.ProjectedCRS})
	if err != nil || len(warnings) > 0 {
		t.Fatal(err, warnings)
	}
	if got.Horizontal != vector.Metre || got.Vertical != vector.Metre || !strings.HasPrefix(got.WKT, "COMPD_CS[") {
		t.Errorf("got %+v", got)
	}
}

func TestCompleteLeavesAnUnknownCRSAlone(t *testing.T) {
	c := vector.CRS{Name: "site", Horizontal: vector.Foot}
	got, warnings, err := crs.Complete(c)
	if err != nil || len(warnings) > 0 || got != c {
		t.Errorf("got %+v, %v, %v", got, warnings, err)
	}
}

func TestCompleteIdentifiesADefinitionWithoutCode(t *testing.T) {
	// EPSG:25832 as programs write it that leave authorities out.
	c := vector.CRS{WKT: `PROJCS["ETRS_1989_UTM_Zone_32N",GEOGCS["GCS_ETRS_1989",DATUM["D_ETRS_1989",SPHEROID["GRS_1980",6378137.0,298.257222101]],PRIMEM["Greenwich",0.0],UNIT["Degree",0.0174532925199433]],` +
		`PROJECTION["Transverse_Mercator"],PARAMETER["False_Easting",500000.0],PARAMETER["False_Northing",0.0],PARAMETER["Central_Meridian",9.0],PARAMETER["Scale_Factor",0.9996],PARAMETER["Latitude_Of_Origin",0.0],UNIT["Meter",1.0]]`}
	got, _, err := crs.Complete(c)
	if err != nil {
		t.Fatal(err)
	}
	if got.Authority != "EPSG" || got.Code != 25832 || got.Horizontal != vector.Metre || got.WKT != c.WKT {
		t.Errorf("got %+v", got)
	}
	if !crs.Same(got, mustParse(t, "EPSG:25832")) || crs.Same(got, mustParse(t, "EPSG:25833")) {
		t.Error("Same does not tell zones apart")
	}
}

func TestCompleteWarnsOfATextThatIsNotItsCode(t *testing.T) {
	zone33 := mustParse(t, "EPSG:25833")
	got, warnings, err := crs.Complete(vector.CRS{Authority: "EPSG", Code: 25832, WKT: zone33.WKT})
	if err != nil {
		t.Fatal(err)
	}
	if len(warnings) != 1 || !strings.Contains(warnings[0], "differs from EPSG:25832") || got.Code != 25832 {
		t.Errorf("got %v, %q", got, warnings)
	}
}

func TestCompleteComparesUnits(t *testing.T) {
	c := vector.CRS{Authority: "EPSG", Code: 25832, Horizontal: vector.USSurveyFoot}
	if _, _, err := crs.Complete(c); !errors.Is(err, crs.ErrUnits) {
		t.Errorf("feet beside a metric CRS: error is %v", err)
	}
	c = vector.CRS{Authority: "EPSG", Code: 2229, Horizontal: vector.Foot}
	got, warnings, err := crs.Complete(c)
	if err != nil || len(warnings) != 1 || got.Horizontal != vector.USSurveyFoot {
		t.Errorf("the wrong foot: got %v, %q, %v", got.Horizontal, warnings, err)
	}
}

func TestDefinitionIsReadBack(t *testing.T) {
	for _, text := range []string{"EPSG:25832", "EPSG:6576+6360", "EPSG:4979", "EPSG:27700", "EPSG:3035"} {
		c := mustParse(t, text)
		for _, dialect := range []crs.Dialect{crs.WKT1, crs.WKT2} {
			wkt, err := crs.Definition(c, dialect)
			if err != nil {
				t.Fatal(err)
			}
			if strings.Contains(wkt, "\n") || strings.Contains(wkt, "VERT") {
				t.Errorf("%s: %s", text, wkt)
			}
			if back := mustParse(t, wkt); !crs.Same(back, c) && text != "EPSG:4979" {
				t.Errorf("%s in dialect %d comes back as %v", text, dialect, back)
			}
		}
	}
}

// The area of EPSG:2154 is mainland France by the EPSG dataset.
func TestAreaOfUse(t *testing.T) {
	area, ok := crs.AreaOfUse(mustParse(t, "EPSG:2154"))
	if !ok || area.Min[0] > -5 || area.Max[0] < 9 || area.Min[1] > 42 || area.Max[1] < 51 {
		t.Errorf("got %v, %v", area, ok)
	}
	if _, ok := crs.AreaOfUse(vector.CRS{}); ok {
		t.Error("an unknown CRS has an area")
	}
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{"EPSG:25832", "EPSG:6576+6360", "2154", "foo["} {
		f.Add(s)
		if c, err := crs.Parse(s); err == nil {
			f.Add(c.WKT)
		}
	}
	f.Fuzz(func(t *testing.T, s string) {
		c, err := crs.Parse(s)
		if err == nil && !c.Known() {
			t.Errorf("%q gave an unknown CRS without an error", s)
		}
	})
}

func BenchmarkComplete(b *testing.B) {
	text := vector.CRS{WKT: mustParse(b, "EPSG:2154").WKT}
	anonymous := vector.CRS{WKT: strings.NewReplacer(`,AUTHORITY["EPSG","2154"]`, "", `,AUTHORITY["EPSG","4171"]`, "").Replace(text.WKT)}
	for name, c := range map[string]vector.CRS{"code": {Authority: "EPSG", Code: 2154}, "text": text, "anonymous": anonymous} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				if _, _, err := crs.Complete(c); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

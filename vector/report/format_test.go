package report

import (
	"errors"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"quoin/vector"
	"quoin/vector/assess"
	"quoin/vector/control"
)

func TestNumbersFollowTheLocale(t *testing.T) {
	for _, c := range []struct {
		locale Locale
		v      float64
		digits int
		want   string
	}{
		{Plain, 1234567.891, 2, "1234567.89"},
		{English, 1234567.891, 2, "1,234,567.89"},
		{German, 1234567.891, 2, "1.234.567,89"},
		{French, 1234567.891, 2, "1\u202f234\u202f567,89"},
		{German, -0.0351, 3, "−0,035"},
		{German, -0.0001, 3, "0,000"},
		{English, 999, 0, "999"},
		{English, 1000, 0, "1,000"},
		{English, -1000, 0, "−1,000"},
		{German, math.NaN(), 2, "–"},
		{German, math.Inf(1), 2, "–"},
	} {
		if got := (Format{Locale: c.locale}).Number(c.digits, c.v); got != c.want {
			t.Errorf("%v in %q: %q, want %q", c.v, c.locale, got, c.want)
		}
	}
	for tag, want := range map[string]Locale{"": Plain, "de": German, "de-AT": German, "DE_ch": German, "en-GB": English, "fr": French} {
		if got, err := ParseLocale(tag); err != nil || got != want {
			t.Errorf("%q: %q, %v", tag, got, err)
		}
	}
	if _, err := ParseLocale("xx"); err == nil {
		t.Error("xx is taken")
	}
}

// 100 m are 328.084 international feet and 328.083 US survey feet; 100 m² are
// 1076.39 ft² (1/0.3048²).
func TestLengthsFollowTheUnit(t *testing.T) {
	for unit, want := range map[vector.Unit]string{vector.Metre: "100.000 m", vector.Foot: "328.084 ft", vector.USSurveyFoot: "328.083 ftUS", {}: "100.000 m"} {
		got := (Format{Unit: unit}).Metres(3, 100)
		if unit == vector.USSurveyFoot {
			want = "328.083 " + unit.Symbol
		}
		if got != want {
			t.Errorf("100 m in %s: %q, want %q", unit.Name, got, want)
		}
	}
	if got := (Format{Unit: vector.Foot}).area(2, 100); got != "1076.39" {
		t.Errorf("100 m² are %s ft²", got)
	}
	if got := (Format{Unit: vector.Metre}).length(4, 1, vector.Foot); got != "0.3048 m" {
		t.Errorf("a foot is %q", got)
	}
}

func TestPageInGermanFeet(t *testing.T) {
	c := sample()
	c.Format = Format{German, vector.Foot}
	c.Certificate = true
	_, text := write(t, c)
	// 160 m² are 1,722.2 ft²; eaves of 5 m are 16.40 ft.
	for _, want := range []string{"1.722 ft²", "<td>16,40</td>", `data-decimal=","`, "eave, ft", `id="seal"`} {
		if !strings.Contains(text, want) {
			t.Errorf("the page does not say %q", want)
		}
	}
	if _, plain := write(t, sample()); strings.Contains(plain, `id="seal"`) {
		t.Error("a block for a seal is there unasked")
	}
}

func TestHistogram(t *testing.T) {
	counts, outside := histogram([]float64{-0.5, -0.01, 0, 0.05, 0.099, 0.1, 7}, 0.1, 2)
	if want := []int{0, 1, 3, 1}; outside != 2 || counts[0] != want[0] || counts[1] != want[1] || counts[2] != want[2] || counts[3] != want[3] {
		t.Errorf("%v, %d outside", counts, outside)
	}
	for in, want := range map[float64]float64{0.011: 0.02, 0.02: 0.02, 3: 5, 6: 10, 1: 1} {
		if got := roundUp(in); math.Abs(got-want) > 1e-12 {
			t.Errorf("roundUp(%v) is %v, want %v", in, got, want)
		}
	}
}

// A difference along the major axis of its ellipse, twice as long as it, is two
// standard errors there and none across.
func TestNormalise(t *testing.T) {
	c := Content{
		Delivery: vector.Delivery{Checks: []vector.CornerCheck{{ControlID: "1", DeltaE: 0.3, DeltaN: 0.3 * math.Sqrt(3), Surveyed: orb.Point{}}}},
		Assessed: &assess.Assessment{Ellipses: []assess.Ellipse{{ControlID: "1", Major: 0.3, Minor: 0.1, Azimuth: 30}}},
	}
	if n := normalise(c); len(n) != 1 || math.Abs(n[0].major-2) > 1e-9 || math.Abs(n[0].minor) > 1e-9 {
		t.Errorf("%+v", n)
	}
}

func TestWallsAreInNoFigureOfRoofs(t *testing.T) {
	c := sample()
	before := len(newResiduals(c).Points)
	c.Delivery.Checks = append(c.Delivery.Checks, vector.CornerCheck{ControlID: "w", Feature: string(control.WallCorner), DeltaE: 9, Used: true})
	if after := len(newResiduals(c).Points); after != before {
		t.Errorf("%d points, want %d", after, before)
	}
}

func TestPDF(t *testing.T) {
	chromium(t)
	page, _ := write(t, sample())
	path := filepath.Join(t.TempDir(), "report.pdf")
	if err := PDF(t.Context(), page, path); err != nil {
		t.Fatal(err)
	}
	content, err := os.ReadFile(path)
	if err != nil || !strings.HasPrefix(string(content), "%PDF-") {
		t.Errorf("%d bytes, %v", len(content), err)
	}
}

func TestPDFWithoutABrowser(t *testing.T) {
	t.Setenv("PATH", t.TempDir())
	path := filepath.Join(t.TempDir(), "report.pdf")
	if err := PDF(t.Context(), "x.html", path); !errors.Is(err, ErrNoBrowser) {
		t.Errorf("got %v", err)
	}
	if _, err := os.Stat(path); err == nil {
		t.Error("something was left")
	}
}

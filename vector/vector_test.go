package vector

import (
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// TestAxes checks ellipses against hand-worked cases and against the defining
// property: the axes have the trace and the determinant of the covariance.
func TestAxes(t *testing.T) {
	for name, c := range map[string]struct {
		corner                  Corner
		major, minor, direction float64
	}{
		"round":          {Corner{SigmaE: 2, SigmaN: 2}, 2, 2, 0},
		"along east":     {Corner{SigmaE: 3, SigmaN: 1}, 3, 1, 0},
		"along north":    {Corner{SigmaE: 1, SigmaN: 3}, 3, 1, math.Pi / 2},
		"north-east":     {Corner{SigmaE: 1, SigmaN: 1, CovEN: 0.5}, math.Sqrt(1.5), math.Sqrt(0.5), math.Pi / 4},
		"a line":         {Corner{SigmaE: 1, SigmaN: 1, CovEN: 1}, math.Sqrt2, 0, math.Pi / 4},
		"nothing at all": {Corner{}, 0, 0, 0},
	} {
		major, minor, direction := c.corner.Axes()
		if math.Abs(major-c.major)+math.Abs(minor-c.minor)+math.Abs(direction-c.direction) > 1e-12 {
			t.Errorf("%s: %v, %v at %v, want %v, %v at %v", name, major, minor, direction, c.major, c.minor, c.direction)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		e, n := rapid.Float64Range(0.001, 1).Draw(t, "e"), rapid.Float64Range(0.001, 1).Draw(t, "n")
		cov := rapid.Float64Range(-1, 1).Draw(t, "r") * e * n
		a, b, _ := Corner{SigmaE: e, SigmaN: n, CovEN: cov}.Axes()
		if math.Abs(a*a+b*b-e*e-n*n) > 1e-9 || math.Abs(a*a*b*b-(e*e*n*n-cov*cov)) > 1e-9 {
			t.Fatalf("axes %v, %v do not make the covariance %v, %v, %v", a, b, e, n, cov)
		}
	})
}

func TestCornerSigmaMax(t *testing.T) {
	f := Footprint{Corners: []Corner{{SigmaE: 1, SigmaN: 2}, {SigmaE: 4, SigmaN: 3}, {SigmaE: 0.5, SigmaN: 0.5}}}
	if got := f.CornerSigmaMax(); got != 4 {
		t.Errorf("got %v, want 4", got)
	}
	if got := (Footprint{}).CornerSigmaMax(); !math.IsNaN(got) {
		t.Errorf("without corners: %v, want NaN", got)
	}
}

// TestUnits holds the lengths of the feet: the international one by definition,
// the US survey one as 1200/3937 m, 2 ppm longer (Federal Register 85 FR 62698).
func TestUnits(t *testing.T) {
	for symbol, want := range map[string]float64{"m": 1, "ft": 0.3048, "usft": 0.304800609601219} {
		u, err := ParseUnit(symbol)
		if err != nil || math.Abs(u.Metres-want) > 1e-15 || !u.Known() {
			t.Errorf("%s: %v, %v, want %v m", symbol, u, err, want)
		}
	}
	if r := USSurveyFoot.Metres / Foot.Metres; math.Abs(r-1.000002000004) > 1e-12 {
		t.Errorf("the feet are as 1 to %.12f", r)
	}
	if u, err := ParseUnit("cubit"); err == nil || u.Known() {
		t.Error("a cubit was taken for a unit")
	}
}

func TestReviewText(t *testing.T) {
	got := Footprint{Review: []Reason{ReviewOccluded, ReviewVegetation}}.ReviewText()
	if d := cmp.Diff("occluded,vegetation", got); d != "" {
		t.Error(d)
	}
}

func TestCRS(t *testing.T) {
	for want, c := range map[string]CRS{
		"EPSG:25832":       {Authority: "EPSG", Code: 25832},
		"EPSG:25832+7837":  {Authority: "EPSG", Code: 25832, VerticalCode: 7837},
		"site grid":        {Name: "site grid", WKT: "LOCAL_CS[]"},
		"user-defined CRS": {WKT: "PROJCS[]"},
		"unknown CRS":      {},
	} {
		if got := c.String(); got != want {
			t.Errorf("got %q, want %q", got, want)
		}
	}
	if (CRS{Kind: GeographicCRS}).Measurable() || (CRS{Kind: WebMercatorCRS}).Measurable() || !(CRS{Kind: ProjectedCRS}).Measurable() {
		t.Error("lengths are measured where they can't be, or not where they can")
	}
	if (CRS{Horizontal: Metre}).Known() {
		t.Error("a unit alone makes a CRS known")
	}
}

func TestDeliveryCorners(t *testing.T) {
	d := Delivery{Footprints: []Footprint{{Corners: []Corner{{Vertex: 1}}}, {Corners: []Corner{{Vertex: 2}, {Vertex: 3}}}}}
	got := d.Corners()
	if len(got) != 3 || got[2].Vertex != 3 {
		t.Errorf("got %v", got)
	}
}

package reproject

import (
	"errors"
	"math"
	"math/rand/v2"
	"os/exec"
	"strconv"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"quoin/vector"
	"quoin/vector/crs"
)

func parse(t *testing.T, text string) vector.CRS {
	t.Helper()
	c, err := crs.Parse(text)
	if err != nil {
		t.Fatal(err)
	}
	if !c.Vertical.Known() {
		c.Vertical = c.Horizontal
	}
	return c
}

var place = orb.Point{300000, 5500000}

func delivery(c vector.CRS) vector.Delivery {
	p := orb.Polygon{{place, {300012, 5500000}, {300012, 5500008}, {300000, 5500008}, place}}
	corner := vector.Corner{BuildingID: "b", Point: place, Elevation: 10, SigmaE: 0.03, SigmaN: 0.01, CovEN: 0.0001, SigmaU: 0.02, Network: &vector.NetworkError{SigmaE: 0.05, SigmaN: 0.06}}
	return vector.Delivery{
		CRS:        c,
		Footprints: []vector.Footprint{{ID: "b", Polygon: p, Corners: []vector.Corner{corner}, EdgeRMS: 0.1, GroundElevation: 5, EaveHeight: 3, RidgeHeight: 6}},
		HeldBack:   []vector.HeldBack{{Polygon: p, Area: 96, Height: 2}},
		Checks:     []vector.CornerCheck{{ControlID: "p", Surveyed: place, SurveyedU: 10, SurveySigma: [3]float64{0.01, 0.01, 0}, DeltaE: 0.3, DeltaN: -0.1, DeltaU: 0.05}},
	}
}

// TestPositionsAgainstCS2CS compares with PROJ's own program, which prints a
// tenth of a millimetre.
func TestPositionsAgainstCS2CS(t *testing.T) {
	program, err := exec.LookPath("cs2cs")
	if err != nil {
		t.Skip("cs2cs is not installed")
	}
	for _, code := range []string{"EPSG:25833", "EPSG:3035", "EPSG:31467"} {
		got, _, err := Delivery(delivery(parse(t, "EPSG:25832")), parse(t, code), place, Options{})
		if err != nil {
			t.Fatal(err)
		}
		cmd := exec.Command(program, "-f", "%.4f", "EPSG:25832", code)
		cmd.Stdin = strings.NewReader("300000 5500000\n")
		out, err := cmd.Output()
		if err != nil {
			t.Fatal(err)
		}
		var want orb.Point
		for i, field := range strings.Fields(string(out))[:2] {
			if want[i], err = strconv.ParseFloat(field, 64); err != nil {
				t.Fatal(err)
			}
		}
		if code != "EPSG:25833" { // their definitions have northing first
			want[0], want[1] = want[1], want[0]
		}
		if p := got.Footprints[0].Corners[0].Point; math.Hypot(p[0]-want[0], p[1]-want[1]) > 1e-4 {
			t.Errorf("%s: %v, cs2cs says %v", code, p, want)
		}
	}
}

// TestCovarianceAgainstMonteCarlo moves a cloud of positions and compares its
// covariance with the one that was propagated.
func TestCovarianceAgainstMonteCarlo(t *testing.T) {
	from, to := parse(t, "EPSG:25832"), parse(t, "EPSG:25833")
	moved, _, err := Delivery(delivery(from), to, place, Options{})
	if err != nil {
		t.Fatal(err)
	}
	tr, err := crs.NewTransformer(from, to, place, crs.Options{})
	if err != nil {
		t.Fatal(err)
	}
	c := moved.Footprints[0].Corners[0]
	dice := rand.New(rand.NewPCG(1, 1))
	const n = 20000
	var ee, nn, en float64
	for range n {
		a, b := dice.NormFloat64(), dice.NormFloat64()
		rho := 0.0001 / 0.03 / 0.01
		q, err := tr.Forward(orb.Point{place[0] + 0.03*a, place[1] + 0.01*(rho*a+math.Sqrt(1-rho*rho)*b)})
		if err != nil {
			t.Fatal(err)
		}
		e, north := q[0]-c.Point[0], q[1]-c.Point[1]
		ee, nn, en = ee+e*e/n, nn+north*north/n, en+e*north/n
	}
	// The standard error of a variance is √(2/n) of it, of a covariance less
	// than the root of the product of the variances times √(2/n); four of them.
	bound := 4 * math.Sqrt(2.0/n)
	if math.Abs(ee/(c.SigmaE*c.SigmaE)-1) > bound || math.Abs(nn/(c.SigmaN*c.SigmaN)-1) > bound || math.Abs(en-c.CovEN)/(c.SigmaE*c.SigmaN) > bound {
		t.Errorf("propagated %v %v %v, simulated %v %v %v", c.SigmaE, c.SigmaN, c.CovEN, math.Sqrt(ee), math.Sqrt(nn), en)
	}
	// Zone 33 is turned by some degrees: the ellipse keeps its size.
	a1, b1, _ := vector.Ellipse(0.03, 0.01, 0.0001)
	a2, b2, _ := c.Axes()
	if math.Abs(a2/a1-1) > 0.01 || math.Abs(b2/b1-1) > 0.01 || math.Abs(c.SigmaE-0.03) < 1e-6 {
		t.Errorf("axes %v %v became %v %v", a1, b1, a2, b2)
	}
}

// TestDifferencesGoAlong holds that a difference taken over is that of the two
// positions taken over.
func TestDifferencesGoAlong(t *testing.T) {
	from, to := parse(t, "EPSG:25832"), parse(t, "EPSG:25833")
	moved, _, err := Delivery(delivery(from), to, place, Options{})
	if err != nil {
		t.Fatal(err)
	}
	tr, _ := crs.NewTransformer(from, to, place, crs.Options{})
	want, _ := tr.Forward(orb.Point{place[0] + 0.3, place[1] - 0.1})
	k := moved.Checks[0]
	if math.Abs(k.Surveyed[0]+k.DeltaE-want[0]) > 1e-8 || math.Abs(k.Surveyed[1]+k.DeltaN-want[1]) > 1e-8 {
		t.Errorf("got %+v, want %v", k, want)
	}
}

// TestUnits takes a block from metres to US survey feet and back: heights go
// by the unit, positions come back.
func TestUnits(t *testing.T) {
	metres, feet := parse(t, "EPSG:6526+5703"), parse(t, "EPSG:6527+6360")
	at := orb.Point{150000, 200000}
	d := delivery(metres)
	d.Footprints[0].Polygon = orb.Polygon{{at, {150010, 200000}, {150010, 200010}, at}}
	d.Footprints[0].Corners[0].Point, d.Checks[0].Surveyed = at, at
	d.HeldBack = nil
	there, operation, err := Delivery(d, feet, at, Options{})
	if err != nil {
		t.Fatal(err)
	}
	f, us := there.Footprints[0], 3937.0/1200
	if operation.Null || operation.Ballpark || math.Abs(f.GroundElevation-5*us) > 1e-9 || math.Abs(f.Corners[0].SigmaE-0.03*us) > 1e-6 || math.Abs(f.EdgeRMS-0.1*us) > 1e-6 || math.Abs(f.Corners[0].Network.SigmaE-0.05*us) > 1e-6 {
		t.Errorf("got %+v by %v", f, operation)
	}
	back, _, err := Delivery(there, metres, f.Corners[0].Point, Options{})
	if err != nil {
		t.Fatal(err)
	}
	// A millimetre is asked for; a hundredth of one is had.
	if p := back.Footprints[0].Corners[0].Point; math.Hypot(p[0]-at[0], p[1]-at[1]) > 1e-5 {
		t.Errorf("came back to %v", p)
	}
}

func TestRefuses(t *testing.T) {
	utm := parse(t, "EPSG:25832")
	for name, c := range map[string]struct {
		from, to vector.CRS
		want     string
	}{
		"degrees":      {utm, crs.WGS84(), "no lengths"},
		"web mercator": {utm, parse(t, "EPSG:3857"), "no lengths"},
		"unknown":      {vector.CRS{}, utm, "--crs"},
		"ballpark":     {parse(t, "EPSG:6344"), parse(t, "EPSG:2193"), "--accept-ballpark"},
	} {
		if _, _, err := Delivery(delivery(c.from), c.to, place, Options{}); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v", name, err)
		}
	}
	if _, _, err := Delivery(delivery(parse(t, "EPSG:25832+5783")), parse(t, "EPSG:25833+5703"), place, Options{}); !errors.Is(err, ErrHeights) {
		t.Errorf("heights: %v", err)
	}
}

// TestHeightsGoToAnotherDatum takes DHHN92 to EVRF2007, 12 mm at this place by
// PROJ's cs2cs: elevations move, heights above ground and differences don't.
func TestHeightsGoToAnotherDatum(t *testing.T) {
	from, to := parse(t, "EPSG:25832+5783"), parse(t, "EPSG:25833+5621")
	before := delivery(from)
	moved, operation, err := Delivery(before, to, place, Options{})
	if err != nil {
		t.Fatal(err)
	}
	h, err := crs.NewHeights(from, to, place)
	if err != nil {
		t.Fatal(err)
	}
	f, g := before.Footprints[0], moved.Footprints[0]
	want, err := h.Forward(f.Corners[0].Point, f.Corners[0].Elevation)
	if err != nil || math.Abs(g.Corners[0].Elevation-want) > 1e-9 || math.Abs(g.Corners[0].Elevation-f.Corners[0].Elevation) < 1e-3 {
		t.Errorf("corner at %v, want %v, was %v", g.Corners[0].Elevation, want, f.Corners[0].Elevation)
	}
	if math.Abs(g.GroundElevation-f.GroundElevation) < 1e-3 || g.EaveHeight != f.EaveHeight || moved.Checks[0].DeltaU != before.Checks[0].DeltaU {
		t.Errorf("ground %v, eave %v, difference %v", g.GroundElevation, g.EaveHeight, moved.Checks[0].DeltaU)
	}
	if !strings.Contains(operation.Name, "heights by") || moved.CRS.VerticalCode != 5621 {
		t.Errorf("%+v, %+v", operation, moved.CRS)
	}
}

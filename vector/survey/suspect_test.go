package survey

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"quoin/vector"
	"quoin/vector/control"
)

// town returns corners of houses at irregular places, and surveyed points at
// every third with a centimetre of noise, changed.
func town(at orb.Point, change func(control.Point) control.Point) ([]vector.Corner, []control.Point) {
	dice := rand.New(rand.NewPCG(7, 9))
	var corners []vector.Corner
	var points []control.Point
	for i := range 20 {
		e, n := at[0]+dice.Float64()*900, at[1]+dice.Float64()*900
		w, h := 20+dice.Float64()*20, 20+dice.Float64()*30
		for v, q := range []orb.Point{{e, n}, {e + w, n}, {e + w, n + h}, {e, n + h}} {
			corners = append(corners, vector.Corner{BuildingID: fmt.Sprint(i), Vertex: v, Point: q, Elevation: 100 + float64(i), AngleDeg: 90})
			if v == i%4 {
				p := control.Point{ID: fmt.Sprint("p", i), East: q[0] + 0.01*dice.NormFloat64(), North: q[1] + 0.01*dice.NormFloat64(), Elevation: 100 + float64(i) + 0.01*dice.NormFloat64()}
				points = append(points, change(p))
			}
		}
	}
	return corners, points
}

func shifted(k float64) func(control.Point) control.Point {
	return func(p control.Point) control.Point {
		p.East, p.North = p.East*k, p.North*k
		return p
	}
}

func raised(dz float64) func(control.Point) control.Point {
	return func(p control.Point) control.Point { p.Elevation += dz; return p }
}

func TestSuspects(t *testing.T) {
	// A state plane zone in feet, far from its origin, as many are.
	feet := vector.CRS{Horizontal: vector.USSurveyFoot, Vertical: vector.USSurveyFoot}
	metres := vector.CRS{Horizontal: vector.Metre, Vertical: vector.Metre}
	oregon, utm := orb.Point{7600000, 700000}, orb.Point{500000, 5500000}
	for name, c := range map[string]struct {
		at     orb.Point
		crs    vector.CRS
		change func(control.Point) control.Point
		want   string // empty: nothing is said
	}{
		"in order":                   {utm, metres, shifted(1), ""},
		"the other foot, unmatched":  {oregon, feet, shifted(1 + 2e-6), "in the other foot"},
		"the other foot, back":       {oregon, feet, shifted(1 - 2e-6), "in the other foot"},
		"the other foot, matched":    {orb.Point{350000, 100000}, feet, shifted(1 + 2e-6), "in the other foot"},
		"two millionths in metres":   {utm, metres, shifted(1 + 2e-6), "the whole cloud lies aside"},
		"ground":                     {utm, metres, shifted(1 + 5e-5), "ground coordinates are mixed with grid"},
		"a shift":                    {utm, metres, func(p control.Point) control.Point { p.East += 3; p.North -= 8; return p }, "moved by -3.00 east and 8.00 north"},
		"a pole left in":             {utm, metres, raised(2), "pole height"},
		"a pole left in, feet":       {oregon, feet, raised(2 / 0.3048), "pole height"},
		"elevations in feet":         {utm, metres, func(p control.Point) control.Point { p.Elevation /= 0.3048; return p }, "in feet are mixed with metres"},
		"ellipsoidal, place unknown": {utm, metres, raised(46), "ellipsoidal heights may be mixed"},
		"ellipsoidal":                {utm, parse(t, "EPSG:25832"), raised(47.6), "the geoid lies 48."},
		"one pole": {utm, metres, func(p control.Point) control.Point {
			if p.ID == "p4" {
				p.Elevation -= 2
			}
			return p
		}, "the elevation of point p4 is 2.0"},
	} {
		t.Run(name, func(t *testing.T) {
			if !c.crs.Vertical.Known() {
				c.crs.Vertical = vector.Metre
			}
			corners, points := town(c.at, c.change)
			checks := control.Match(corners, points, 1/c.crs.Horizontal.Metres)
			got := strings.Join(Suspects(corners, checks, c.crs), "; ")
			if c.want == "" && got != "" || !strings.Contains(got, c.want) {
				t.Errorf("got %q, want %q", got, c.want)
			}
		})
	}
}

// TestNoiseIsNoMixUp holds that plain noise is named as nothing: the bound of
// four standard errors is passed by chance once in 16 000 axes.
func TestNoiseIsNoMixUp(t *testing.T) {
	dice := rand.New(rand.NewPCG(1, 2))
	for range 500 {
		var checks []vector.CornerCheck
		for i := range 10 {
			checks = append(checks, vector.CornerCheck{ControlID: fmt.Sprint(i), Surveyed: orb.Point{2e6, 1e6}, SurveyedU: 100, DeltaE: 0.3 * dice.NormFloat64(), DeltaN: 0.3 * dice.NormFloat64(), DeltaU: 0.05 * dice.NormFloat64(), Used: true})
		}
		if got := Suspects(nil, checks, vector.CRS{Horizontal: vector.Foot, Vertical: vector.Foot}); len(got) > 0 {
			t.Fatalf("said %q", got)
		}
	}
	if math.IsNaN(middle(nil)) != true {
		t.Error("the median of none is a number")
	}
}

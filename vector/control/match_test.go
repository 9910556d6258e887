package control_test

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"pgregory.net/rapid"

	"quoin/vector"
	"quoin/vector/control"
)

var nan = math.NaN()

func corner(id string, vertex int, e, n float64) vector.Corner {
	return vector.Corner{BuildingID: id, Vertex: vertex, Point: orb.Point{e, n}, Elevation: math.NaN(), AngleDeg: 90}
}

func at(id string, e, n float64) control.Point {
	return control.Point{ID: id, East: e, North: n, Elevation: math.NaN()}
}

func TestMatch(t *testing.T) {
	node := corner("b", 1, 10, 0)
	node.AngleDeg = 180.2
	for _, c := range []struct {
		name    string
		corners []vector.Corner
		points  []control.Point
		// want has the vertex of each point's corner, −1 for none, and a part
		// of the reason.
		want   []int
		reason []string
	}{
		{"one to one", []vector.Corner{corner("a", 0, 0, 0), corner("a", 1, 10, 0)}, []control.Point{at("p", 9.9, 0), at("q", 0.1, 0)}, []int{1, 0}, []string{"", ""}},
		// The nearest first would give q the corner 0 and leave p without.
		{"not greedy", []vector.Corner{corner("a", 0, 0, 0), corner("a", 1, 0.7, 0)}, []control.Point{at("p", -0.5, 0), at("q", 0.3, 0)}, []int{0, 1}, []string{"", ""}},
		{"two for one corner", []vector.Corner{corner("a", 0, 0, 0)}, []control.Point{at("p", 0.5, 0), at("q", 0.2, 0)}, []int{-1, 0}, []string{"the corner of a 0.50 away went to point q", ""}},
		{"beyond the radius", []vector.Corner{corner("a", 0, 0, 0), corner("a", 1, 9, 9)}, []control.Point{at("p", 3, 0)}, []int{-1}, []string{"the nearest corner, of a, is 3.00 away, beyond the radius of 1.00"}},
		{"outside", []vector.Corner{corner("a", 0, 0, 0)}, []control.Point{at("p", 300, 400)}, []int{-1}, []string{"outside the delivered buildings: the nearest corner, of a, is 500.00 away"}},
		{"no corners", nil, []control.Point{at("p", 0, 0)}, []int{-1}, []string{"there is no corner"}},
		{"straight on", []vector.Corner{corner("a", 0, 0, 0), node}, []control.Point{at("p", 10, 0)}, []int{-1}, []string{"the nearest corner, of a"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			checks := control.Match(c.corners, c.points, 1)
			if len(checks) != len(c.points) {
				t.Fatalf("%d checks", len(checks))
			}
			for i, k := range checks {
				if k.ControlID != c.points[i].ID || k.Used != (c.want[i] >= 0) || k.Used && k.Vertex != c.want[i] || !k.Used && k.BuildingID != "" {
					t.Errorf("check %d: %+v, want corner %d", i, k, c.want[i])
				}
				if !strings.Contains(k.Reason, c.reason[i]) || c.reason[i] == "" && k.Reason != "" {
					t.Errorf("check %d: reason %q, want %q", i, k.Reason, c.reason[i])
				}
			}
		})
	}
}

func TestDifferencesAreDeliveredMinusSurveyed(t *testing.T) {
	c := corner("a", 2, 10.25, 20.5)
	c.Elevation = 7
	p := control.Point{ID: "p", East: 10, North: 21, Elevation: 6.5}
	got := control.Match([]vector.Corner{c}, []control.Point{p}, 1)[0]
	if got.DeltaE != 0.25 || got.DeltaN != -0.5 || got.DeltaU != 0.5 || got.Vertex != 2 || got.SurveyedU != 6.5 {
		t.Errorf("got %+v", got)
	}
}

// cheapest returns the least sum of squared distances by trying everything.
func cheapest(corners []vector.Corner, points []control.Point, radius float64, taken map[int]bool) float64 {
	if len(points) == 0 {
		return 0
	}
	best := radius*radius + cheapest(corners, points[1:], radius, taken)
	for i, c := range corners {
		d := math.Hypot(c.Point[0]-points[0].East, c.Point[1]-points[0].North)
		if d > radius || taken[i] {
			continue
		}
		taken[i] = true
		best = min(best, d*d+cheapest(corners, points[1:], radius, taken))
		delete(taken, i)
	}
	return best
}

func TestMatchIsTheCheapest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		position := rapid.Custom(func(t *rapid.T) orb.Point {
			return orb.Point{rapid.Float64Range(0, 4).Draw(t, "e"), rapid.Float64Range(0, 4).Draw(t, "n")}
		})
		var corners []vector.Corner
		for i, p := range rapid.SliceOfN(position, 0, 6).Draw(t, "corners") {
			corners = append(corners, corner("a", i, p[0], p[1]))
		}
		var points []control.Point
		for i, p := range rapid.SliceOfN(position, 0, 5).Draw(t, "points") {
			points = append(points, at(fmt.Sprint(i), p[0], p[1]))
		}
		radius := rapid.Float64Range(0.1, 5).Draw(t, "radius")
		var sum float64
		taken := map[int]bool{}
		for _, c := range control.Match(corners, points, radius) {
			if c.BuildingID == "" {
				sum += radius * radius
				continue
			}
			if taken[c.Vertex] {
				t.Fatalf("corner %d is given twice", c.Vertex)
			}
			taken[c.Vertex] = true
			sum += c.DeltaE*c.DeltaE + c.DeltaN*c.DeltaN
		}
		if want := cheapest(corners, points, radius, map[int]bool{}); math.Abs(sum-want) > 1e-9 {
			t.Fatalf("costs %v, the cheapest is %v", sum, want)
		}
	})
}

// normalChecks returns checks with normal differences about a shift.
func normalChecks(r *rand.Rand, n int, sigma float64) []vector.CornerCheck {
	checks := make([]vector.CornerCheck, n)
	for i := range checks {
		checks[i] = vector.CornerCheck{
			ControlID: fmt.Sprint(i), BuildingID: "b", Used: true,
			DeltaE: 0.3 + sigma*r.NormFloat64(), DeltaN: -0.2 + sigma*r.NormFloat64(), DeltaU: sigma * r.NormFloat64(),
		}
	}
	return checks
}

func TestBlundersAreFlaggedAndCounted(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for _, n := range []int{8, 20, 100} {
		checks := normalChecks(r, n, 0.03)
		checks[1].DeltaE += 0.9 // a wrong corner
		checks[4].DeltaU += 2   // a pole height
		control.FlagBlundersInPlace(checks)
		got := control.Stats(checks)
		if len(got.Blunders) != 2 || got.Blunders[0].ControlID != "1" || got.Blunders[1].ControlID != "4" {
			t.Errorf("n = %d: blunders %v", n, got.Blunders)
			continue
		}
		// The wrong corner goes altogether, of the pole height the elevation.
		if got.All.East.N != n || got.Kept.East.N != n-1 || got.Kept.Up.N != n-2 || got.All.RMSEH <= got.Kept.RMSEH || got.All.Up.RMSE <= got.Kept.Up.RMSE {
			t.Errorf("n = %d: all %+v, kept %+v", n, got.All, got.Kept)
		}
		if !strings.HasPrefix(got.Blunders[0].Reason, "blunder in plan: ") || !strings.HasPrefix(got.Blunders[1].Reason, control.ElevationBlunder) || checks[1].Used || !checks[4].Used {
			t.Errorf("reasons %v", got.Blunders)
		}
	}
}

func TestABlunderInBothIsNamedOnce(t *testing.T) {
	checks := normalChecks(rand.New(rand.NewPCG(1, 2)), 20, 0.03)
	checks[3].DeltaN, checks[3].DeltaU = 5, 7
	control.FlagBlundersInPlace(checks)
	got := control.Stats(checks)
	if len(got.Blunders) != 1 || !strings.Contains(got.Blunders[0].Reason, "; blunder in elevation: ") || got.Used != 19 || got.Kept.Up.N != 19 {
		t.Errorf("got %+v", got.Blunders)
	}
}

func TestFewPointsAreNotTestedForBlunders(t *testing.T) {
	checks := normalChecks(rand.New(rand.NewPCG(1, 2)), 4, 0.03)
	checks[0].DeltaE = 50
	control.FlagBlundersInPlace(checks)
	if got := control.Stats(checks); got.Used != 4 || got.BlundersSought {
		t.Errorf("got %+v", got)
	}
}

func TestEqualDifferencesAreNoBlunders(t *testing.T) {
	checks := make([]vector.CornerCheck, 12)
	for i := range checks {
		checks[i] = vector.CornerCheck{ControlID: fmt.Sprint(i), Used: true, DeltaE: 0.1 + 1e-9*float64(i%2)}
	}
	control.FlagBlundersInPlace(checks)
	if got := control.Stats(checks); got.Used != 12 {
		t.Errorf("got %+v", got.Blunders)
	}
}

func TestResultAsJSON(t *testing.T) {
	r := control.Stats(control.Match(nil, []control.Point{at("p", 1, 2)}, 1))
	b, err := json.Marshal(r)
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{`"rmse_h":null`, `"control_id":"p"`, `"blunders":[]`, `"surveyed":1`, `"points":[{"control_id":"p","east":1,"north":2,"elevation":null,`, `"delta_h":null,"used":false,"reason":"there is no corner`} {
		if !strings.Contains(string(b), want) {
			t.Errorf("%s lacks %s", b, want)
		}
	}
	var back control.Result
	if err := json.Unmarshal(b, &back); err != nil || !math.IsNaN(float64(back.All.RMSEH)) {
		t.Errorf("read back %+v, %v", back.All, err)
	}
}

func TestCornersOf(t *testing.T) {
	ell := orb.Ring{{0, 0}, {4, 0}, {4, 2}, {2, 2}, {2, 4}, {0, 4}, {0, 0}}
	hole := orb.Ring{{0.5, 0.5}, {0.5, 1}, {1, 1}, {1, 0.5}, {0.5, 0.5}}
	reversed := ell.Clone()
	reversed.Reverse()
	for name, p := range map[string]orb.Polygon{"counter-clockwise": {ell, hole}, "clockwise": {reversed, hole}} {
		t.Run(name, func(t *testing.T) {
			got := control.CornersOf([]orb.Polygon{p}, []string{"x"})
			if len(got) != 10 {
				t.Fatalf("%d corners", len(got))
			}
			for _, c := range got {
				want := 90.0
				if c.Ring == 1 || c.Point == (orb.Point{2, 2}) {
					want = 270
				}
				if math.Abs(c.AngleDeg-want) > 1e-9 || c.BuildingID != "x" || p[c.Ring][c.Vertex] != c.Point {
					t.Errorf("%+v, want %v degrees", c, want)
				}
			}
		})
	}
}

func BenchmarkMatch(b *testing.B) {
	for _, n := range []int{100, 5000} {
		b.Run(fmt.Sprintf("n=%d", n), func(b *testing.B) {
			r := rand.New(rand.NewPCG(1, 2))
			var corners []vector.Corner
			var points []control.Point
			for i := range 10 * n {
				e, nn := r.Float64()*1000, r.Float64()*float64(n)
				corners = append(corners, corner("a", i, e, nn))
				if i%10 == 0 {
					points = append(points, at(fmt.Sprint(i), e+r.NormFloat64()*0.05, nn+r.NormFloat64()*0.05))
				}
			}
			b.ReportAllocs()
			for b.Loop() {
				control.Match(corners, points, 2)
			}
		})
	}
}

// The chance of a false alarm is 1 % in plan and 1 % in elevation. The bounds
// are four binomial standard errors of the trials about 1 − 0.99².
func TestBlunderFalseAlarmsAreAsStated(t *testing.T) {
	const trials, n, stated = 4000, 20, 1 - 0.99*0.99
	r := rand.New(rand.NewPCG(7, 8))
	alarms := 0
	for range trials {
		checks := normalChecks(r, n, 0.03)
		control.FlagBlundersInPlace(checks)
		for _, c := range checks {
			if c.Reason != "" {
				alarms++
				break
			}
		}
	}
	got, tolerance := float64(alarms)/trials, 4*math.Sqrt(stated*(1-stated)/trials)
	if math.Abs(got-stated) > tolerance {
		t.Errorf("%.4f of the surveys without blunders are flagged, stated %.4f ± %.4f", got, stated, tolerance)
	}
}

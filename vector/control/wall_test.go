package control_test

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"quoin/vector"
	"quoin/vector/control"
)

// rectangle is a roof of 10 by 6 at an angle, whose walls lie 0.5 inside but for
// the side that is not seen.
func rectangle(turn float64, unseen int) vector.Footprint {
	sin, cos := math.Sincos(turn)
	at := func(x, y float64) orb.Point { return orb.Point{500000 + cos*x - sin*y, 5800000 + sin*x + cos*y} }
	f := vector.Footprint{ID: "b", Adjustment: &vector.Adjustment{Directions: []float64{turn}, Offsets: make([]float64, 4), Covariance: make([]float64, 15)}}
	f.Adjustment.Covariance[0] = 1e-6 // a milliradian
	ring := []orb.Point{at(0, 0), at(10, 0), at(10, 6), at(0, 6)}
	f.Polygon = orb.Polygon{append(append(orb.Ring{}, ring...), ring[0])}
	for i, p := range ring {
		f.Corners = append(f.Corners, vector.Corner{BuildingID: "b", Vertex: i, Point: p, SigmaE: 0.01, SigmaN: 0.01, AngleDeg: 90})
		s := vector.Side{Edge: i, From: p, To: ring[(i+1)%4], Offset: i, Overhang: 0.5, SigmaOverhang: math.Hypot(0.02, 0.01)}
		if i == unseen {
			s.Overhang, s.SigmaOverhang = math.NaN(), math.NaN()
		}
		f.Sides = append(f.Sides, s)
	}
	return f
}

func TestWallCornersLieInside(t *testing.T) {
	sin, cos := math.Sincos(0.3)
	got := control.WallCorners(rectangle(0.3, -1))
	want := [][2]float64{{0.5, 0.5}, {9.5, 0.5}, {9.5, 5.5}, {0.5, 5.5}}
	if len(got) != 4 {
		t.Fatalf("%d corners", len(got))
	}
	for i, w := range want {
		p := orb.Point{500000 + cos*w[0] - sin*w[1], 5800000 + sin*w[0] + cos*w[1]}
		if d := math.Hypot(got[i].Point[0]-p[0], got[i].Point[1]-p[1]); d > 1e-8 || got[i].Vertex != i {
			t.Errorf("corner %d is %g off: %+v", i, d, got[i])
		}
	}
	for _, c := range control.WallCorners(rectangle(0.3, 1)) {
		if c.Vertex == 1 || c.Vertex == 2 {
			t.Errorf("corner %d is there without one of its walls", c.Vertex)
		}
	}
	if n := len(control.WallCorners(rectangle(0.3, 1))); n != 2 {
		t.Errorf("%d corners with one wall unseen, want 2", n)
	}
}

// The covariance is that of drawing walls and direction at random: each wall
// line by its own error about the middle of its side, all sides turned together.
func TestWallCornerCovariance(t *testing.T) {
	const runs, turn = 40000, 0.3
	f := rectangle(turn, -1)
	c := control.WallCorners(f)[1]
	r := rand.New(rand.NewPCG(1, 1))
	var ee, nn, en float64
	for range runs {
		// In the frame of the building corner 1 lies at (10, 0): the wall of
		// side 0 is y = 0.5 with its middle at x = 5, that of side 1 x = 9.5
		// with its middle at y = 3.
		d := 1e-3 * r.NormFloat64()
		y := 0.02*r.NormFloat64() + 5*d
		x := 0.02*r.NormFloat64() + 3*d
		e, n := math.Cos(turn)*x-math.Sin(turn)*y, math.Sin(turn)*x+math.Cos(turn)*y
		ee, nn, en = ee+e*e/runs, nn+n*n/runs, en+e*n/runs
	}
	// Four standard deviations of a sample variance.
	slack := 4 * math.Sqrt(2.0/runs) * ee
	if math.Abs(ee-c.SigmaE*c.SigmaE) > slack || math.Abs(nn-c.SigmaN*c.SigmaN) > slack || math.Abs(en-c.CovEN) > slack {
		t.Errorf("drawn %g %g %g, computed %g %g %g", ee, nn, en, c.SigmaE*c.SigmaE, c.SigmaN*c.SigmaN, c.CovEN)
	}
}

// A wall corner is compared with the walls or not at all, never with the roof
// edge half a metre away.
func TestWallsAreNeverComparedWithRoofs(t *testing.T) {
	sin, cos := math.Sincos(0.3)
	shot := func(id string, x, y float64) control.Point {
		return control.Point{ID: id, East: 500000 + cos*x - sin*y, North: 5800000 + sin*x + cos*y, Elevation: 12, Feature: control.WallCorner}
	}
	points := []control.Point{shot("seen", 0.5, 5.5), shot("unseen", 9.5, 0.5)}
	f := rectangle(0.3, 1)
	checks := control.Match(f.Corners, points, 1)
	control.MatchWallsInPlace(checks, points, control.WallCorners(f), 1)
	if k := checks[0]; !(math.Hypot(k.DeltaE, k.DeltaN) < 1e-8) || k.Vertex != 3 || !math.IsNaN(k.DeltaU) || !k.Used || k.Feature != string(control.WallCorner) {
		t.Errorf("%+v", k)
	}
	if k := checks[1]; !math.IsNaN(k.DeltaE) || k.Used || k.BuildingID != "" || !strings.Contains(k.Reason, "not comparable") {
		t.Errorf("%+v", k)
	}
	if r := control.Stats(checks); r.Matched != 0 || r.Others != 2 {
		t.Errorf("walls are in the figures of roofs: %+v", r)
	}
}

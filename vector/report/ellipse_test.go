package report

import (
	"math"
	"testing"

	"github.com/paulmach/orb"

	"quoin/vector"
)

// TestExaggerationIsARoundFactor: at 10 pixels a metre, 0.02 m of standard
// error are 0.49 pixels at 95 %; 10 times that are 4.9, 20 would be too large.
func TestExaggerationIsARoundFactor(t *testing.T) {
	corners := []vector.Corner{{SigmaE: 0.02, SigmaN: 0.01}, {SigmaE: math.NaN(), SigmaN: 0.01}}
	if got := exaggeration(corners, 10); got != 10 {
		t.Errorf("got %v", got)
	}
	if got := exaggeration(corners, 1e6); got != 1 {
		t.Errorf("a large ellipse is drawn %v times too large", got)
	}
	if got := exaggeration(nil, 10); got != 0 {
		t.Errorf("no corner gives %v", got)
	}
}

func TestEllipseTurnsAsSVGDoes(t *testing.T) {
	// The major axis points north-east: anticlockwise from east, which is a
	// negative turn where y runs down.
	got := ellipseOf(vector.Corner{SigmaE: 0.02, SigmaN: 0.02, CovEN: 0.0003}, 100)
	if math.Abs(got.Turn+45) > 1e-9 || !(got.Major > got.Minor) || math.Abs(got.Major-ellipse95*100*math.Sqrt(0.0007)) > 1e-9 {
		t.Errorf("got %+v", got)
	}
	network := vector.Corner{SigmaE: 0.02, SigmaN: 0.01, Network: &vector.NetworkError{SigmaE: 0.01, SigmaN: 0.05}}
	if got := ellipseOf(network, 1); math.Abs(got.Major-ellipse95*0.05) > 1e-12 {
		t.Errorf("got %+v, want the error in the CRS", got)
	}
	if got := ellipseOf(vector.Corner{SigmaE: math.NaN()}, 1); got != (ellipse{}) {
		t.Errorf("got %+v", got)
	}
}

func TestArrowsPointToTheDelivered(t *testing.T) {
	p := plan{scale: 10, bound: orb.Bound{Max: orb.Point{100, 100}}}
	p.arrows([]vector.CornerCheck{
		{ControlID: "a", Surveyed: orb.Point{50, 50}, DeltaE: 0.1, DeltaN: 0.1, Used: true},
		{ControlID: "b", Surveyed: orb.Point{20, 20}, DeltaE: -90},
		{ControlID: "c", DeltaE: math.NaN(), DeltaN: math.NaN()},
	})
	if len(p.Arrows) != 2 || p.ArrowFactor != 5 {
		t.Fatalf("%d arrows, factor %v", len(p.Arrows), p.ArrowFactor)
	}
	a, b := p.Arrows[0], p.Arrows[1]
	if a.EndX-a.X != 5 || a.Y-a.EndY != 5 || !a.Used {
		t.Errorf("north-east is drawn as %+v", a)
	}
	if math.Abs(b.X-b.EndX-longestArrow) > 1e-9 || b.Used {
		t.Errorf("a blunder is drawn as %+v", b)
	}
}

package accuracy

import (
	"math"
	"testing"

	"github.com/paulmach/orb"

	"quoin/vector"
)

func box(x0, y0, x1, y1 float64) orb.Polygon {
	return orb.Polygon{{{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}, {x0, y0}}}
}

// A roof 0.5 m beyond its walls all round: one overhang is stated 2 cm short,
// one right, one so far off that it is another wall, one not at all.
func TestWallLinesAgainstTheTrueWalls(t *testing.T) {
	truth := Building{ID: "a", Polygon: box(0, 0, 12, 8), Walls: box(0.5, 0.5, 11.5, 7.5), Facades: []int{40, 10, 10, 9}}
	f := vector.Footprint{ID: "a", Polygon: truth.Polygon}
	ring := truth.Polygon[0]
	for i, overhang := range []float64{0.48, 0.5, 1.0, math.NaN()} {
		f.Sides = append(f.Sides, vector.Side{From: ring[i], To: ring[i+1], Overhang: overhang, SigmaOverhang: 0.021})
	}
	b, err := Score([]Building{truth}, []vector.Footprint{f}, Options{Spacing: 0.3})
	if err != nil {
		t.Fatal(err)
	}
	s := Summarise([]Block{b}).Walls
	if s.Seen != (Share{3, 3}) || s.Few != (Share{0, 1}) || s.Wrong != (Share{1, 3}) || s.Within != (Share{2, 2}) {
		t.Errorf("%+v", s)
	}
	// Of the two that are not wrong one lies 2 cm outward: RMS 2 cm/√2.
	if math.Abs(s.RMS-0.02/math.Sqrt2) > 1e-9 || math.Abs(s.Bias-0.01) > 1e-9 {
		t.Errorf("RMS %v, bias %v", s.RMS, s.Bias)
	}
}

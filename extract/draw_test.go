package extract

import (
	"testing"

	"quoin/extract/outline"
)

// A fit whose first outline leaves the surroundings of the roof is tried again with
// longer edges, and a person is asked to look.
func TestOutlineThatRunsAwayIsDrawnCoarser(t *testing.T) {
	b, roof := gable()
	shape := newRoofShape(b, roof, quarterMetre, 1)
	var obs []outline.Observation
	for i := range 200 {
		for k := range 120 {
			x, y := float64(i)/8-6.02, float64(k)/8-3.98
			side := outline.Outside
			if x > 0 && x < 12 && y > 0 && y < 8 || x >= 12 && x < 15 && y > 3 && y < 3.6 {
				side = outline.Inside // a strip that the shape does not know
			}
			obs = append(obs, outline.Observation{X: x, Y: y, Side: side})
		}
	}
	m := outline.Measures{Spacing: 0.125, Sigma: 0.02, Beam: 0.02}
	d := drawing{shape: shape}
	f := outline.DefaultOptions(m)
	f.MinJog = 0.3
	first, err := outline.Fit(obs, m, f)
	if err != nil || shape.holds(first.Rings) {
		t.Fatalf("the strip is not in the outline: %v", err)
	}
	result, err := d.closed(obs, m, f)
	if err != nil {
		t.Fatal(err)
	}
	if result.Regular || !shape.holds(result.Rings) || len(result.Rings[0].Vertices) != 4 {
		t.Errorf("regular is %v, %d vertices, want an irregular one of 4", result.Regular, len(result.Rings[0].Vertices))
	}
}

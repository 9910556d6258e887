package extract

import (
	"testing"

	"github.com/paulmach/orb"

	"quoin/vector"
)

// A strip along a wall is no find of its own; a crown that reaches out from it,
// another building's rim and what has another reason are.
func TestWithoutRims(t *testing.T) {
	rect := func(x0, y0, x1, y1 float64) orb.Polygon {
		return orb.Polygon{{{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}, {x0, y0}}}
	}
	footprints := []vector.Footprint{{Polygon: rect(0, 0, 10, 8)}}
	for _, c := range []struct {
		name    string
		polygon orb.Polygon
		reason  vector.Reason
		kept    int
	}{
		{"strip along a side", rect(-0.5, 1, 0.5, 7), vector.HeldVegetation, 0},
		{"all around", rect(-0.5, -0.5, 10.5, 8.5), vector.HeldVegetation, 0},
		{"on the roof", rect(3, 3, 5, 5), vector.HeldVegetation, 0},
		{"crown beside", rect(-3, 1, 0.5, 4), vector.HeldVegetation, 1},
		{"far away", rect(20, 1, 21, 4), vector.HeldVegetation, 1},
		{"rail along a side", rect(-0.5, 1, 0.5, 7), vector.HeldNarrow, 0},
		{"wall far away", rect(20, 1, 21, 4), vector.HeldNarrow, 1},
		{"vehicle along a side", rect(-0.5, 1, 0.5, 7), vector.HeldVehicle, 1},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got := withoutRims([]held{{polygon: c.polygon, reason: c.reason}}, footprints, 0.5); len(got) != c.kept {
				t.Errorf("%d kept, want %d", len(got), c.kept)
			}
		})
	}
}

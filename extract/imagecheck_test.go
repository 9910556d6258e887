package extract

import (
	"math"
	"testing"

	"github.com/paulmach/orb"

	"quoin/vector"
)

// TestHeightsAlongAVerge takes a gable of 10 m by 8 m with eaves 3 m and a ridge 7 m
// above ground at 100 m: its verge is 3, 5, 7, 5, 3 m high at its quarters, its eave
// 3 m all along.
func TestHeightsAlongAVerge(t *testing.T) {
	ring := func(y0, y1 float64) orb.Polygon {
		return orb.Polygon{{{0, y0}, {10, y0}, {10, y1}, {0, y1}, {0, y0}}}
	}
	f := vector.Footprint{
		ID: "a", Polygon: ring(0, 8), GroundElevation: 100, EaveHeight: 3,
		Parts: []vector.RoofPart{
			{Polygon: ring(0, 4), Elevation: 103, Gradient: orb.Point{0, 1}},
			{Polygon: ring(4, 8), Origin: orb.Point{0, 8}, Elevation: 103, Gradient: orb.Point{0, -1}},
		},
	}
	edges := edgesOf(f, vector.Metre)
	for i, want := range [][3]float64{{3, 3, 3}, {3, 7, 3}, {3, 3, 3}, {3, 7, 3}} {
		h := edges[i].Heights
		if len(h) == 0 {
			t.Fatalf("edge %d has no heights", i)
		}
		for k, w := range want {
			const near = 0.15 // a hundredth of the length in from the corner, 5 cm in from the edge
			if got := h[k*(len(h)-1)/2]; math.Abs(got-w) > near {
				t.Errorf("edge %d: %.3f m at %d halves, want %g", i, got, k, w)
			}
		}
	}
	f.Parts = f.Parts[:1] // not all along
	if h := edgesOf(f, vector.Metre)[1].Heights; h != nil {
		t.Errorf("heights %v where the parts end", h)
	}
}

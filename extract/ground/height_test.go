package ground

import (
	"math"
	"testing"

	"quoin/extract/cloud"
)

// steps returns metres in steps of a block.
func steps(m float64) int32 { return int32(math.Round(m / cloud.Step)) }

// The face of a wall is terrain, whatever the cells make of it; what stands a
// cell further off is not, nor what is higher than the land above the wall.
func TestMaskAtWalls(t *testing.T) {
	o := DefaultOptions(measures(12, 0.02))
	g := cloud.NewGrid(cloud.Rect{MaxX: 20, MaxY: 20}, o.Cell)
	z := cloud.NewRaster[float32](g)
	for i := range z.Values {
		if x, _ := g.Centre(i); x > 10 {
			z.Values[i] = 3
		}
	}
	tests := []struct {
		x, z float64
		want bool
	}{
		{5, 0, true}, {5, 0.5, false}, // on the land below, above it
		{10.1, 0, true}, {9.9, 3, true}, {10, 1.2, true}, // foot, top, face
		{8.9, 1.2, false}, {11.1, 1.2, false}, {11.1, 3, true}, // beyond a cell
		{10, 3.5, false}, {10, -0.5, false}, // above and below both
	}
	var points []cloud.Point
	for k, c := range tests {
		points = append(points, cloud.Point{X: steps(c.x), Y: steps(10), Z: steps(c.z), Source: uint16(k)})
	}
	b, _ := cloud.NewBlock(cloud.Frame{Horizontal: 1, Vertical: 1}, points)
	mask := Mask(b, z, Height(b, z), o)
	for i, got := range mask {
		if c := tests[b.Points[i].Source]; got != c.want {
			t.Errorf("a point %g m from the west at %g m: ground %v, want %v", c.x, c.z, got, c.want)
		}
	}
}

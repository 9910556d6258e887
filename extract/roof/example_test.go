package roof_test

import (
	"fmt"
	"math"

	"quoin/extract/cloud"
	"quoin/extract/roof"
)

// A gabled house of 8 m by 12 m, on a grid of points 0.4 m apart.
func Example() {
	var points []cloud.Point
	for x := -20.0; x < 20; x += 0.4 {
		for y := -20.0; y < 20; y += 0.4 {
			z := 0.0
			if math.Abs(x) < 4 && math.Abs(y) < 6 {
				z = 3 + 0.5*(4-math.Abs(x))
			}
			points = append(points, cloud.Pack(x, y, z, cloud.Attributes{}))
		}
	}
	b, _ := cloud.NewBlock(cloud.Frame{Horizontal: 1, Vertical: 1}, points)
	m := cloud.Measures{Density: 6.25, Spacing: 0.4, SigmaZ: 0.02, Sigma: 0.02}
	hag := make([]float32, b.Len()) // the ground is level
	for i := range hag {
		hag[i] = float32(b.Points[i].Up())
	}

	features := make([]roof.Feature, b.Len())
	var cells []roof.Run
	for _, unit := range b.Units() {
		roof.Describe(b, hag, unit, m, features)
	}
	for _, unit := range b.Units() {
		roofs, _ := roof.Mask(b, hag, features, unit, m)
		cells = append(cells, roofs...)
	}
	for _, c := range roof.Gather(cells, m) {
		s := roof.Segment(b, hag, features, c, roof.Work{Measures: m, Options: roof.DefaultOptions()})
		for _, building := range s.Buildings {
			fmt.Printf("%d returns, %d planes, eave %.1f m, ridge %.1f m\n",
				len(building.Roof), len(building.Planes), building.EaveHeight, building.RidgeHeight)
		}
	}
	// Output:
	// 600 returns, 2 planes, eave 3.2 m, ridge 5.0 m
}

package ground_test

import (
	"fmt"

	"quoin/extract/cloud"
	"quoin/extract/ground"
)

// A shed of 5 × 5 m on level ground, one point a square metre.
func ExampleEstimate() {
	var points []cloud.Point
	for y := range 20 {
		for x := range 20 {
			z := 100.0
			if x >= 8 && x < 13 && y >= 8 && y < 13 {
				z = 102.5
			}
			points = append(points, cloud.Pack(float64(x)+0.5, float64(y)+0.5, z, cloud.Attributes{}))
		}
	}
	b, _ := cloud.NewBlock(cloud.Frame{Horizontal: 1, Vertical: 1}, points)
	o := ground.DefaultOptions(cloud.Measures{Density: 1, Spacing: 1, SigmaZ: 0.02})
	s, err := ground.Estimate(b, cloud.Rect{MaxX: 20, MaxY: 20}, o)
	if err != nil {
		fmt.Println(err)
		return
	}
	heights := ground.Height(b, s.Z)
	n := 0
	for _, isGround := range ground.Mask(b, s.Z, heights, o) {
		if isGround {
			n++
		}
	}
	under, _ := s.Z.Index(10.5, 10.5)
	fmt.Printf("%d of %d points are ground; under the shed %.2f m, interpolated: %v\n",
		n, len(points), s.Z.Values[under], s.Interpolated.Values[under])
	// Output: 375 of 400 points are ground; under the shed 100.00 m, interpolated: true
}

package swath_test

import (
	"fmt"
	"math"

	"quoin/extract/cloud"
	"quoin/extract/swath"
)

// A scanner 50 m above ground flies east at 10 m/s over trees on level ground.
func ExampleMeasure() {
	var points []cloud.Point
	for n := range 20000 {
		t := float64(n) / 5000
		tan := math.Tan(math.Mod(float64(n)*0.618, 1)*1.2 - 0.6) // of the scan angle
		crown := 2 + math.Mod(float64(n)*0.755, 6)
		for i, z := range []float64{crown, 0} {
			points = append(points, cloud.Pack(10*t, -(50-z)*tan, z, cloud.Attributes{
				Time: 1000 + t, Source: 1, Return: uint8(i + 1), Returns: 2,
			}))
		}
	}
	block, _ := cloud.NewBlock(cloud.Frame{Horizontal: 1, Vertical: 1}, points)
	block.HasTime, block.HasReturns = true, true

	result := swath.Measure(block, 2)
	s := result.Report.Swaths[0]
	fmt.Printf("%.0f s at %.1f m/s towards %.0f°, sensor from %s\n", s.Seconds, s.Speed, s.Heading, s.Position)
	when := cloud.Pack(0, 0, 0, cloud.Attributes{Time: 1002})
	x, y, z, ok := result.Trajectory.At(1, when.Tick())
	fmt.Printf("after 2 s at %.2f, %.2f, %.2f: %v\n", x, math.Abs(y), z, ok)
	// Output:
	// 4 s at 10.0 m/s towards 90°, sensor from returns
	// after 2 s at 20.00, 0.00, 50.00: true
}

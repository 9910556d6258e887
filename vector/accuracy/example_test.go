package accuracy_test

import (
	"fmt"

	"github.com/paulmach/orb"

	"quoin/vector"
	"quoin/vector/accuracy"
)

// A house whose outline was drawn a decimetre too far east.
func ExampleScore() {
	reference := []accuracy.Building{{
		ID: "house", Polygon: orb.Polygon{{{0, 0}, {12, 0}, {12, 8}, {0, 8}, {0, 0}}},
	}}
	delivered := []vector.Footprint{{
		ID: "1", Polygon: orb.Polygon{{{0.1, 0}, {12.1, 0}, {12.1, 8}, {0.1, 8}, {0.1, 0}}},
	}}
	block, err := accuracy.Score(reference, delivered, accuracy.Options{Spacing: 0.25})
	if err != nil {
		fmt.Println(err)
		return
	}
	s := accuracy.Summarise([]accuracy.Block{block})
	fmt.Printf("found %d of %d\n", s.Classes[2].Completeness.Count, s.Classes[2].Completeness.N)
	fmt.Printf("IoU %.3f, corners off by %.2f m\n", s.Shape.IoU, s.Corners.RMSE)
	fmt.Printf("sides off by %.3f m\n", s.Offsets.RMS)
	// Output:
	// found 1 of 1
	// IoU 0.983, corners off by 0.10 m
	// sides off by 0.071 m
}

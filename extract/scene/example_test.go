package scene_test

import (
	"fmt"

	"quoin/extract/scene"
)

func ExampleCompose() {
	spec := scene.DefaultSpec("yard")
	spec.Spacing = 0.3
	block, err := scene.Compose(spec)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, b := range block.Buildings {
		fmt.Printf("%s %s\n", b.ID, b.Kind)
	}
	fmt.Printf("%d flight lines at %.0f m\n", len(block.Plan.Lines), block.Plan.Scanner.Height)
	// Output:
	// B001 house
	// B002 shed
	// 4 flight lines at 60 m
}

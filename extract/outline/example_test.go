package outline_test

import (
	"fmt"
	"math/rand/v2"

	"quoin/extract/outline"
)

// pulses lays n pulses over a building of 12 by 8 m, its place exact.
func pulses(n int) []outline.Observation {
	rng := rand.New(rand.NewPCG(1, 1))
	obs := make([]outline.Observation, n)
	for i := range obs {
		o := outline.Observation{X: 20*rng.Float64() - 4, Y: 16*rng.Float64() - 4, Side: outline.Outside}
		if o.X > 0 && o.X < 12 && o.Y > 0 && o.Y < 8 {
			o.Side = outline.Inside
		}
		obs[i] = o
	}
	return obs
}

func ExampleFit() {
	m := outline.Measures{Spacing: 0.1, Sigma: 0.005}
	r, err := outline.Fit(pulses(32000), m, outline.DefaultOptions(m))
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println("corners:", len(r.Rings[0].Vertices), "explained:", r.Regular)
	for _, e := range r.Rings[0].Edges {
		fmt.Printf("%.1f m, known to a centimetre: %v\n", e.Length, e.Sigma < 0.01)
	}
	// Output:
	// corners: 4 explained: true
	// 8.0 m, known to a centimetre: true
	// 12.0 m, known to a centimetre: true
	// 8.0 m, known to a centimetre: true
	// 12.0 m, known to a centimetre: true
}

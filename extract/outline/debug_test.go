package outline

import (
	"fmt"
	"math"
	"math/rand/v2"
	"sort"
	"testing"
)

func TestDebug(t *testing.T) {
	s := sampling{density: 100, sigma: 0.03, pattern: "poisson", shadow: true}
	sh := shapes(4)
	names := []string{}
	for k := range sh {
		names = append(names, k)
	}
	sort.Strings(names)
	for i := range 20 {
		rng := rand.New(rand.NewPCG(7, uint64(i)))
		p := sh[names[i%4]].turned(rng.Float64()*2*math.Pi, rng.Float64()*10, rng.Float64()*10)
		obs := s.observe(p, rng)
		r, err := Fit(obs, s.measures(), DefaultOptions(s.measures()))
		if err != nil {
			t.Fatal(err)
		}
		g := judge(p, r, 0.3)
		worst := 0.0
		for _, x := range g.nees {
			worst = max(worst, x)
		}
		if g.exact && worst < 20 {
			continue
		}
		fmt.Println(i, names[i%4], g.exact, worst)
		for _, ring := range r.Rings {
			for k, v := range ring.Vertices {
				d := p.distance(v.X, v.Y)
				e := ring.Edges[k]
				fmt.Printf("  %.2f %.2f off %.3f kind %d len %.2f sig %.4f seen %.2f one %v in %d out %d q%d\n", v.X, v.Y, d, v.Kind, e.Length, e.Sigma, e.Seen, e.OneSided, e.Inside, e.Outside, e.Quarter)
			}
		}
	}
}

package ground

import (
	"math"
	"testing"
)

// A membrane over a hole in a harmonic function is that function. These are
// harmonic on the lattice too, so the discrete solution is exact.
func TestFillIsHarmonic(t *testing.T) {
	functions := []struct {
		name string
		f    func(x, y float64) float64
	}{
		{"constant", func(_, _ float64) float64 { return 7 }},
		{"plane", func(x, y float64) float64 { return 0.1*x - 0.05*y }},
		{"saddle", func(x, y float64) float64 { return (x*x - y*y) / 500 }},
		{"product", func(x, y float64) float64 { return x * y / 500 }},
	}
	holes := []struct {
		name string
		in   func(x, y float64) bool
	}{
		{"one cell", func(x, y float64) bool { return x == 50 && y == 40 }},
		{"wide", func(x, y float64) bool { return x > 20 && x < 110 && y > 10 && y < 75 }},
		{"ragged", func(x, y float64) bool { return math.Hypot(x-60, y-45) < 30+8*math.Sin(5*math.Atan2(y-45, x-60)) }},
		{"mesh", func(x, y float64) bool { return math.Mod(x, 10) != 0 && math.Mod(y, 9) != 0 }},
	}
	for _, f := range functions {
		for _, h := range holes {
			t.Run(f.name+" "+h.name, func(t *testing.T) {
				const rows, cols = 91, 131
				l := layer{rows, cols, make([]float32, rows*cols)}
				low, high := math.Inf(1), math.Inf(-1)
				for i := range l.v {
					x, y := float64(i%cols), float64(i/cols)
					l.v[i] = float32(f.f(x, y))
					low, high = min(low, f.f(x, y)), max(high, f.f(x, y))
					if h.in(x, y) {
						l.v[i] = nan32
					}
				}
				worst := 0.0
				for i, v := range fill(l).v {
					x, y := float64(i%cols), float64(i/cols)
					worst = max(worst, math.Abs(float64(v)-f.f(x, y)))
				}
				if worst > 0.001*(high-low)+1e-5 {
					t.Errorf("off by %.4f of a range of %.2f", worst, high-low)
				}
			})
		}
	}
}

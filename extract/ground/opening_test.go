package ground

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func drawLayer(rt *rapid.T) layer {
	l := layer{rows: rapid.IntRange(1, 12).Draw(rt, "rows"), cols: rapid.IntRange(1, 12).Draw(rt, "cols")}
	l.v = rapid.SliceOfN(rapid.Float32Range(-9, 9), l.rows*l.cols, l.rows*l.cols).Draw(rt, "values")
	return l
}

// about calls f with each value within a radius of a cell.
func about(l layer, i, radius int, f func(v float32)) {
	for row := range l.rows {
		for col := range l.cols {
			if max(abs(row-i/l.cols), abs(col-i%l.cols)) <= radius {
				f(l.v[row*l.cols+col])
			}
		}
	}
}

func TestExtremeIsThatOfItsWindow(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		l, radius := drawLayer(rt), rapid.IntRange(0, 5).Draw(rt, "radius")
		for i, got := range least(l, radius).v {
			want := float32(math.Inf(1))
			about(l, i, radius, func(v float32) { want = min(want, v) })
			if got != want {
				rt.Fatalf("least at %d: %v, want %v", i, got, want)
			}
		}
		for i, got := range greatest(l, radius).v {
			want := float32(math.Inf(-1))
			about(l, i, radius, func(v float32) { want = max(want, v) })
			if got != want {
				rt.Fatalf("greatest at %d: %v, want %v", i, got, want)
			}
		}
	})
}

func TestSmoothKeepsPlanes(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		l, radius := drawLayer(rt), rapid.IntRange(0, 5).Draw(rt, "radius")
		gx, gy := rapid.Float64Range(-2, 2).Draw(rt, "gx"), rapid.Float64Range(-2, 2).Draw(rt, "gy")
		for i := range l.v {
			l.v[i] = float32(gx*float64(i%l.cols) + gy*float64(i/l.cols))
		}
		for i, got := range smooth(l, radius).v {
			if math.Abs(float64(got-l.v[i])) > 1e-4 {
				rt.Fatalf("cell %d: %v, want %v", i, got, l.v[i])
			}
		}
	})
}

func TestOpenedTakesObjectsAndLeavesTerrain(t *testing.T) {
	const n = 120
	l := layer{n, n, make([]float32, n*n)}
	car := func(x, y int) bool { return x >= 30 && x < 34 && y >= 30 && y < 32 }
	hall := func(x, y int) bool { return x >= 60 && x < 100 && y >= 60 && y < 100 }
	for i := range l.v {
		x, y := i%n, i/n
		l.v[i] = float32(0.2*math.Sin(float64(x)/9) + 1.5*in(car(x, y)) + 7*in(hall(x, y)))
	}
	for i, got := range opened(l, 1, 24, 0.3) {
		x, y := i%n, i/n
		if want := car(x, y) || hall(x, y); got != want {
			t.Fatalf("cell (%d, %d): object %v, want %v", y, x, got, want)
		}
	}
}

func TestRadiiGrowToTheLargest(t *testing.T) {
	for _, largest := range []int{0, 1, 2, 6, 24, 48} {
		r := radii(largest)
		for i := 1; i < len(r); i++ {
			if r[i] <= r[i-1] {
				t.Errorf("radii to %d: %v", largest, r)
			}
		}
		if got := r[len(r)-1]; got != max(largest, 1) {
			t.Errorf("radii to %d end in %d", largest, got)
		}
	}
}

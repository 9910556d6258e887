package ground

import (
	"errors"
	"flag"
	"math"
	"slices"
	"testing"
	"time"

	"quoin/extract/cloud"
)

var table = flag.Bool("table", false, "print the errors of every scene at every density")

func spacing(d float64) float64 { return 1 / math.Sqrt(d) }

func TestTable(t *testing.T) {
	if !*table {
		t.Skip("prints only: run with -table -v")
	}
	for _, sc := range places() {
		for _, d := range []float64{2, 4, 20, 100} {
			b := sc.w.scan(d, 0.03, 1)
			o := DefaultOptions(measures(d, 0.03))
			t0 := time.Now()
			s := judge(t, sc.w, b, o)
			t.Logf("%-24s %3g: %v  %v", sc.name, d, s, time.Since(t0))
		}
	}
}

func TestEstimateOfHardlyAnything(t *testing.T) {
	at := func(x, y, z float64) cloud.Point { return cloud.Pack(x, y, z, cloud.Attributes{}) }
	tests := []struct {
		name   string
		points []cloud.Point
		known  bool
	}{
		{"no point", nil, false},
		{"one", []cloud.Point{at(5, 5, 3)}, true},
		{"two", []cloud.Point{at(5, 5, 3), at(9, 9, 3)}, true},
		{"in a line", []cloud.Point{at(1, 5, 3), at(2, 5, 3), at(3, 5, 3), at(4, 5, 3)}, true},
		{"one above another", []cloud.Point{at(5, 5, 3), at(5, 5, 8)}, true},
		{"far away", []cloud.Point{at(5000, 5, 3)}, false},
		{"in the halo", []cloud.Point{at(-50, 5, 3)}, true},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			b, _ := cloud.NewBlock(cloud.Frame{Horizontal: 1, Vertical: 1}, tt.points)
			s, err := Estimate(b, cloud.Rect{MaxX: 20, MaxY: 20}, DefaultOptions(measures(4, 0.03)))
			if err != nil {
				t.Fatal(err)
			}
			for i, z := range s.Z.Values {
				if known := z == z; known != tt.known {
					t.Fatalf("cell %d: known %v, want %v", i, known, tt.known)
				}
				if tt.known && math.Abs(float64(z)-3) > 1e-3 {
					t.Fatalf("cell %d: %v, want 3", i, z)
				}
			}
		})
	}
}

func TestOptionsOutOfRange(t *testing.T) {
	o := DefaultOptions(measures(4, 0.03))
	o.Cell, o.Halo = 0.3, math.NaN()
	if _, err := Estimate(&cloud.Block{}, cloud.Rect{}, o); !errors.Is(err, ErrOptions) {
		t.Errorf("got %v, want %v", err, ErrOptions)
	}
}

func mean(v []float64) float64 {
	sum := 0.0
	for _, x := range v {
		sum += x
	}
	return sum / float64(max(len(v), 1))
}

func quantile(v []float64, q float64) float64 {
	if len(v) == 0 {
		return 0
	}
	s := slices.Sorted(slices.Values(v))
	return s[int(q*float64(len(s)-1))]
}

func measures(density, noise float64) cloud.Measures {
	return cloud.Measures{Density: density, Spacing: spacing(density), SigmaZ: noise}
}

package swath

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

func TestQuantile(t *testing.T) {
	tests := []struct {
		name   string
		values []float64
		share  float64
		want   float64
	}{
		{"empty", nil, 0.5, 0},
		// One value of 3 is anywhere from 2.5 to 3.5.
		{"one value", []float64{3}, 0.5, 3},
		{"two values", []float64{2, 8}, 0.5, 2.5},
		{"ten alike", []float64{4, 4, 4, 4, 4, 4, 4, 4, 4, 4}, 0.25, 3.75},
		{"beyond the limit", []float64{1e9, 1e9, 1e9}, 0.5, 20},
		{"negative and no number", []float64{-3, math.NaN()}, 1, 0.5},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			h := newHistogram(1, 20)
			for _, v := range tt.values {
				h.add(v)
			}
			if got := h.quantile(tt.share); got != tt.want {
				t.Errorf("got %v, want %v", got, tt.want)
			}
		})
	}
}

func TestMergeInAnyOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		values := rapid.SliceOfN(rapid.Float64Range(0, 30), 0, 50).Draw(t, "values")
		cut := rapid.IntRange(0, len(values)).Draw(t, "cut")
		whole, a, b := newHistogram(0.5, 20), newHistogram(0.5, 20), newHistogram(0.5, 20)
		for i, v := range values {
			whole.add(v)
			if i < cut {
				a.add(v)
			} else {
				b.add(v)
			}
		}
		b.merge(a)
		if !slices.Equal(whole.counts, b.counts) {
			t.Errorf("parts give %v, the whole %v", b.counts, whole.counts)
		}
	})
}

// The smoother of two groups is found, where it is a third of the other.
func TestLowestPeakIsTheSmootherGroup(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 1))
	h := newHistogram(1e-4, 0.5)
	for range 1000 {
		h.add(0.012 * (1 + 0.17*r.NormFloat64()))
	}
	for range 2000 {
		h.add(0.045 * (1 + 0.17*r.NormFloat64()))
	}
	for range 3000 {
		h.add(2 * r.Float64())
	}
	got, n := h.lowestPeak(smoothShare)
	if math.Abs(got-0.012) > 0.0004 || n < 900 || n > 1100 {
		t.Errorf("%.4f from %d values, want 0.012 from about 1000", got, n)
	}
	if got, _ := h.lowestPeak(0.8); math.Abs(got-0.045) > 0.002 {
		t.Errorf("the main group is at %.4f, want 0.045", got)
	}
	if got, n := newHistogram(1, 10).lowestPeak(0.3); got != 0 || n != 0 {
		t.Errorf("nothing has a peak at %v", got)
	}
}

func TestQuickQuantileIsThatOfSorting(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		values := rapid.SliceOfN(rapid.Float64Range(-5, 5), 1, 60).Draw(t, "values")
		share := rapid.Float64Range(0, 1).Draw(t, "share")
		sorted := slices.Sorted(slices.Values(values))
		want := sorted[min(int(share*float64(len(values))), len(values)-1)]
		if got := quickQuantile(slices.Clone(values), share); got != want {
			t.Errorf("%v of %v: got %v, want %v", share, values, got, want)
		}
	})
}

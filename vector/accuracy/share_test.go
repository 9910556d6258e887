package accuracy

import (
	"math"
	"testing"
)

// Wilson's score interval, against Newcombe, Statistics in Medicine 17 (1998),
// 857-872, table I, method 3 (score, no continuity correction), to its four
// digits; the values are from memory.
func TestWilson(t *testing.T) {
	for _, c := range []struct {
		share     Share
		low, high float64
	}{
		{Share{81, 263}, 0.2553, 0.3662},
		{Share{15, 148}, 0.0624, 0.1605},
		{Share{0, 20}, 0, 0.1611},
		{Share{1, 29}, 0.0061, 0.1718},
	} {
		low, high := c.share.Wilson()
		if math.Abs(low-c.low) > 5e-5 || math.Abs(high-c.high) > 5e-5 {
			t.Errorf("%d of %d: %.4f to %.4f, want %.4f to %.4f", c.share.Count, c.share.N, low, high, c.low, c.high)
		}
	}
	if low, high := (Share{}).Wilson(); low != 0 || high != 1 {
		t.Errorf("of none: %g to %g, want 0 to 1", low, high)
	}
}

func TestShareString(t *testing.T) {
	if got, want := (Share{98, 100}).String(), "98.0 (93.0–99.4, n 100)"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
	if got := (Share{}).String(); got != "-" {
		t.Errorf("of none: %q", got)
	}
}

// 1/Q = 1/completeness + 1/correctness - 1, which is TP/(TP+FN+FP): with 8
// found of 10, and 8 right of 9 delivered, 8/(8+2+1).
func TestQuality(t *testing.T) {
	d := Detection{Completeness: Share{8, 10}, Correctness: Share{8, 9}}
	near(t, "quality", d.Quality(), 8.0/11, 1e-12)
	if q := (Detection{Completeness: Share{0, 3}}).Quality(); q != 0 {
		t.Errorf("nothing found: quality %g, want 0", q)
	}
}

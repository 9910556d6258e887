package chance

import (
	"math"
	"testing"
)

// The first numbers of splitmix64 from state 1234567, as printed beside the
// public-domain reference implementation by Vigna (prng.di.unimi.it) on
// rosettacode.org; recalled from memory.
func TestStreamIsSplitMix64(t *testing.T) {
	s := Stream{1234567}
	for i, want := range []uint64{
		6457827717110365317, 3203168211198807973, 9817491932198370423, 4593380528125082431, 16408922859458223821,
	} {
		if got := s.Uint64(); got != want {
			t.Fatalf("number %d: got %d, want %d", i, got, want)
		}
	}
}

func TestMoments(t *testing.T) {
	const n = 200000
	s := New(7, 11)
	var flat, normal, square, exponential float64
	for range n {
		flat += s.Float()
		g := s.Normal()
		normal, square = normal+g, square+g*g
		exponential += s.Exponential()
	}
	// Five standard errors of each mean.
	for _, c := range []struct {
		name            string
		got, want, band float64
	}{
		{"uniform mean", flat / n, 0.5, 5 * math.Sqrt(1.0/12/n)},
		{"normal mean", normal / n, 0, 5 / math.Sqrt(n)},
		{"normal variance", square / n, 1, 5 * math.Sqrt(2.0/n)},
		{"exponential mean", exponential / n, 1, 5 / math.Sqrt(n)},
	} {
		if math.Abs(c.got-c.want) > c.band {
			t.Errorf("%s: got %.5f, want %.5f ± %.5f", c.name, c.got, c.want, c.band)
		}
	}
}

func TestKeysMatter(t *testing.T) {
	seen := map[uint64][]uint64{}
	for _, keys := range [][]uint64{{}, {0}, {1}, {0, 0}, {0, 1}, {1, 0}, {1, 2, 3}, {3, 2, 1}} {
		h := Hash(keys...)
		if other, twice := seen[h]; twice {
			t.Errorf("keys %v and %v give one hash", keys, other)
		}
		seen[h] = keys
	}
	if Lattice(1, 2, 3, 4) == Lattice(1, 3, 2, 4) {
		t.Error("the lattice does not tell its axes apart")
	}
}

func TestRanges(t *testing.T) {
	s := New(3)
	for range 10000 {
		if x := s.Between(-2, 5); x < -2 || x >= 5 {
			t.Fatalf("Between gave %g", x)
		}
		if k := s.Pick(7); k < 0 || k > 6 {
			t.Fatalf("Pick gave %d", k)
		}
	}
	if s.Pick(0) != 0 || s.Pick(1) != 0 {
		t.Error("Pick of nothing is not 0")
	}
	if s.Chance(0) || !s.Chance(1) {
		t.Error("Chance does not hold its limits")
	}
}

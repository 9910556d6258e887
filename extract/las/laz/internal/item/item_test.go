package item

import (
	"testing"

	"pgregory.net/rapid"

	"quoin/extract/las/laz/internal/arith"
)

// plain is the streaming median as the format describes it, case by case.
type plain struct {
	v    [5]int32
	high bool
}

func (m *plain) add(x int32) {
	v := &m.v
	switch {
	case m.high && x < v[2]:
		v[4], v[3] = v[3], v[2]
		switch {
		case x < v[0]:
			v[2], v[1], v[0] = v[1], v[0], x
		case x < v[1]:
			v[2], v[1] = v[1], x
		default:
			v[2] = x
		}
	case m.high:
		if x < v[3] {
			v[4], v[3] = v[3], x
		} else {
			v[4] = x
		}
		m.high = false
	case x > v[2]:
		v[0], v[1] = v[1], v[2]
		switch {
		case x > v[4]:
			v[2], v[3], v[4] = v[3], v[4], x
		case x > v[3]:
			v[2], v[3] = v[3], x
		default:
			v[2] = x
		}
	default:
		if x > v[1] {
			v[0], v[1] = v[1], x
		} else {
			v[0] = x
		}
		m.high = true
	}
}

// TestMedianIsThePublishedOne compares the median that takes no branches with
// the one that is described.
func TestMedianIsThePublishedOne(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var m Median
		m.Reset()
		want := plain{high: true}
		values := rapid.OneOf(rapid.SliceOf(rapid.Int32()), rapid.SliceOf(rapid.Int32Range(-3, 3))).Draw(t, "values")
		for i, x := range values {
			m.Add(x)
			want.add(x)
			if got := m.Get(); got != want.v[2] {
				t.Fatalf("after %d values: got %d, want %d", i+1, got, want.v[2])
			}
		}
	})
}

func TestMedian3(t *testing.T) {
	for _, p := range [][3]int32{{1, 2, 3}, {1, 3, 2}, {2, 1, 3}, {2, 3, 1}, {3, 1, 2}, {3, 2, 1}, {2, 2, 2}, {1, 2, 2}, {2, 3, 2}} {
		if got := Median3(p[0], p[1], p[2]); got != 2 {
			t.Errorf("median of %v is %d", p, got)
		}
	}
}

// TestContextsStayInRange looks at all pairs of return numbers.
func TestContextsStayInRange(t *testing.T) {
	for n := range uint32(16) {
		for r := range uint32(16) {
			if n < 8 && r < 8 && Map8[n][r] > 15 {
				t.Errorf("return %d of %d has context %d", r, n, Map8[n][r])
			}
			if Map16[n][r] > 5 {
				t.Errorf("return %d of %d has context %d", r, n, Map16[n][r])
			}
			if want := min(max(n, r)-min(n, r), 7); Level(n, r) != want {
				t.Errorf("return %d of %d has level %d, want %d", r, n, Level(n, r), want)
			}
		}
	}
}

// TestMultiplier has the quotients at the edges of the symbols.
func TestMultiplier(t *testing.T) {
	for _, c := range []struct {
		delta, step int32
		want        uint32
	}{
		{100, 100, 1},
		{149, 100, 1},
		{150, 100, 2},
		{-49, 100, 0},
		{-50, 100, 501},
		{49, 100, 0},
		{0, -5, 0},
		{49949, 100, 499},
		{49950, 100, 500},
		{1 << 30, 1, 500},
		{-949, 100, 509},
		{-950, 100, 510},
		{-1 << 31, 1, 510},
		{-1 << 31, -1, 500},
		{1<<31 - 1, -1, 510},
	} {
		if got := multiplier(c.delta, c.step); got != c.want {
			t.Errorf("%d over %d: symbol %d, want %d", c.delta, c.step, got, c.want)
		}
	}
}

// TestTimes codes times of several interleaved runs, with jumps of all sizes, in
// both schemes.
func TestTimes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		layered := rapid.Bool().Draw(t, "layered")
		steps := rapid.SliceOf(rapid.OneOf(rapid.Int64(), rapid.Int64Range(-5, 5), rapid.Int64Range(-1<<33, 1<<33),
			rapid.Just(int64(1000)), rapid.Just(int64(499500)), rapid.Just(int64(-10000)))).Draw(t, "steps")
		first := rapid.Uint64().Draw(t, "first")
		var times []uint64
		for i, s := range steps {
			base := first
			if i > 0 {
				base = times[max(0, i-1-int(uint64(s)%3))]
			}
			times = append(times, base+uint64(s))
		}
		enc, dec := NewTimes(layered, false), NewTimes(layered, true)
		enc.Reset(first)
		dec.Reset(first)
		var e arith.Encoder
		e.Start(nil)
		for _, v := range times {
			enc.Encode(&e, v)
		}
		stream := e.Done()
		var d arith.Decoder
		if !d.Start(append(stream, make([]byte, 100)...), 0, len(stream)) {
			t.Fatal("no stream starts like this")
		}
		for i, want := range times {
			if got := dec.Decode(&d); got != want || d.Bad() {
				t.Fatalf("time %d: got %x, want %x", i, got, want)
			}
		}
		if d.Pos() != len(stream) {
			t.Errorf("%d bytes of %d were read", d.Pos(), len(stream))
		}
	})
}

package cloud

import (
	"context"
	"errors"
	"iter"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"unsafe"

	"github.com/paulmach/orb"
	"pgregory.net/rapid"

	"quoin/vector"
)

var metres = vector.CRS{Horizontal: vector.Metre, Vertical: vector.Metre}

func TestPointTakes24Bytes(t *testing.T) {
	if size := unsafe.Sizeof(Point{}); size != 24 {
		t.Errorf("a point takes %d bytes, want 24", size)
	}
}

func TestPackKeepsAttributes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.Float64Range(-2e5, 2e5).Draw(t, "x")
		want := Attributes{
			Time: rapid.Float64Range(0, 1e6).Draw(t, "time"), Source: rapid.Uint16().Draw(t, "source"),
			Return: rapid.Uint8Range(0, 15).Draw(t, "return"), Returns: rapid.Uint8Range(0, 15).Draw(t, "returns"),
			ScanAngle: float32(rapid.IntRange(-90, 90).Draw(t, "angle")), Class: rapid.Uint8().Draw(t, "class"),
			Flags: Flag(rapid.Uint8Range(0, 63).Draw(t, "flags")),
		}
		p := Pack(x, -x, 1, want)
		if math.Abs(p.East()-x) > Step/2+1e-9 || math.Abs(p.North()+x) > Step/2+1e-9 {
			t.Errorf("position %v, %v, want %v, %v", p.East(), p.North(), x, -x)
		}
		if got := float64(p.Tick()) * timeStep; math.Abs(got-want.Time) > timeStep {
			t.Errorf("time %v, want %v", got, want.Time)
		}
		if p.Return() != int(want.Return) || p.Returns() != int(want.Returns) || p.Source != want.Source ||
			p.Class != want.Class || p.Flags != want.Flags || float32(p.ScanAngle) != want.ScanAngle {
			t.Errorf("got %+v, want %+v", p, want)
		}
	})
}

func randomPoints(r *rand.Rand, n int) []Point {
	points := make([]Point, n)
	for i := range points {
		points[i] = Pack(r.Float64()*700-300, r.Float64()*600-200, r.Float64()*20, Attributes{Time: r.Float64() * 100, Source: uint16(r.IntN(3))})
	}
	return points
}

func TestBlockIsTheSameForAnyOrder(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	points := randomPoints(r, 20000)
	a, _ := NewBlock(Frame{}, slices.Clone(points))
	r.Shuffle(len(points), func(i, j int) { points[i], points[j] = points[j], points[i] })
	b, repeated := NewBlock(Frame{}, append(points, points[:500]...))
	if repeated != 500 {
		t.Errorf("%d repeated points found, want 500", repeated)
	}
	if !slices.Equal(a.Points, b.Points) {
		t.Error("another order of the same points gives another block")
	}
}

func TestInFindsWhatASearchOfAllFinds(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	b, _ := NewBlock(Frame{}, randomPoints(r, 5000))
	rapid.Check(t, func(t *rapid.T) {
		x, y := rapid.Float64Range(-400, 400).Draw(t, "x"), rapid.Float64Range(-400, 400).Draw(t, "y")
		box := Rect{x, y, x + rapid.Float64Range(0, 300).Draw(t, "w"), y + rapid.Float64Range(0, 300).Draw(t, "h")}
		var want []int
		for i := range b.Points {
			if box.Contains(b.Points[i].East(), b.Points[i].North()) {
				want = append(want, i)
			}
		}
		if got := slices.Collect(b.In(box)); !slices.Equal(got, want) {
			t.Fatalf("%d points in %v, want %d", len(got), box, len(want))
		}
	})
}

// A memory is a source that holds its points.
type memory struct{ batch Batch }

func (m memory) Info() Info { return Info{Count: uint64(m.batch.Len())} }

func (m memory) Batches(context.Context) iter.Seq2[*Batch, error] {
	return func(yield func(*Batch, error) bool) { yield(&m.batch, nil) }
}

func source(points ...orb.Point) memory {
	n := len(points)
	b := Batch{
		Z: make([]float64, n), Return: make([]uint8, n), Returns: make([]uint8, n), Class: make([]uint8, n),
		Flags: make([]Flag, n), ScanAngle: make([]float32, n), Source: make([]uint16, n),
	}
	for _, p := range points {
		b.X, b.Y = append(b.X, p[0]), append(b.Y, p[1])
	}
	return memory{b}
}

func somewhere(n int, x, y float64) []orb.Point {
	var points []orb.Point
	for i := range n {
		points = append(points, orb.Point{x + float64(i%50), y + float64(i/50)})
	}
	return points
}

func TestLoadDropsAndCounts(t *testing.T) {
	points := somewhere(2000, 500000, 5500000)
	s := source(append(points, orb.Point{1500000, 5500000}, orb.Point{math.NaN(), 0}, orb.Point{500001, 5500001})...)
	s.batch.Flags[0] = Withheld
	s.batch.Class[1] = 7
	b, census, err := Load(t.Context(), []Source{s}, metres, LoadOptions{Memory: 1 << 30})
	if err != nil {
		t.Fatal(err)
	}
	want := Census{Read: 2003, Withheld: 1, Noise: 1, Invalid: 1, Stray: 1, Repeated: 1, Kept: 1998}
	want.Classes[0] = 1998
	if census != want {
		t.Errorf("got %+v, want %+v", census, want)
	}
	if got := b.Frame.ToCRS(b.Points[0].East(), b.Points[0].North()); math.Abs(got[0]-500002) > Step {
		t.Errorf("first point at %v, want 500002", got)
	}
}

func TestLoadIsTheSameForAnyFileOrder(t *testing.T) {
	a, b := source(somewhere(500, 499990, 5500000)...), source(somewhere(700, 502300, 5499000)...)
	first, _, err := Load(t.Context(), []Source{a, b}, metres, LoadOptions{Memory: 1 << 30})
	if err != nil {
		t.Fatal(err)
	}
	second, _, err := Load(t.Context(), []Source{b, a}, metres, LoadOptions{Memory: 1 << 30, Workers: 2})
	if err != nil {
		t.Fatal(err)
	}
	if first.Frame != second.Frame || !slices.Equal(first.Points, second.Points) {
		t.Error("another order of the files gives another block")
	}
}

func TestLoadRefuses(t *testing.T) {
	_, _, err := Load(t.Context(), []Source{source(somewhere(100, 0, 0)...)}, metres, LoadOptions{Memory: 100})
	if large := (*TooLargeError)(nil); !errors.As(err, &large) || large.Points != 100 {
		t.Errorf("got %v, want a TooLargeError", err)
	}
	if _, _, err = Load(t.Context(), []Source{source()}, metres, LoadOptions{Memory: 100}); !errors.Is(err, ErrNoPoints) {
		t.Errorf("got %v, want ErrNoPoints", err)
	}
	far := append(somewhere(100, 0, 0), somewhere(100, 900000, 0)...)
	if _, _, err = Load(t.Context(), []Source{source(far...)}, metres, LoadOptions{Memory: 1 << 30}); err == nil {
		t.Error("two sites 900 km apart were taken as one block")
	}
}

func TestBilinear(t *testing.T) {
	r := NewRaster[float32](NewGrid(Rect{0, 0, 3, 3}, 1))
	for i := range r.Values {
		x, y := r.Centre(i)
		r.Values[i] = float32(2*x - 3*y + 1)
	}
	if got := Bilinear(r, 1.25, 1.75); math.Abs(got-(2*1.25-3*1.75+1)) > 1e-6 {
		t.Errorf("a plane is not kept: %v", got)
	}
	if got := Bilinear(r, -9, -9); got != float64(r.Values[0]) {
		t.Errorf("outside: %v, want the nearest cell %v", got, r.Values[0])
	}
}

func BenchmarkNewBlock(b *testing.B) {
	points := randomPoints(rand.New(rand.NewPCG(1, 1)), 1e6)
	b.ReportAllocs()
	for b.Loop() {
		NewBlock(Frame{}, slices.Clone(points))
	}
	b.ReportMetric(1e6*float64(b.N)/b.Elapsed().Seconds(), "points/s")
}

package cloud

import (
	"context"
	"math/rand/v2"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"quoin/vector/scratch"
)

// A town is points over several units, one of them dense, with noise, a shed that
// is classed as noise, repetitions and strays, in two files.
func town() []Source {
	r := rand.New(rand.NewPCG(5, 6))
	var places []orb.Point
	at := func(n int, x, y, w, h float64) {
		for range n {
			places = append(places, orb.Point{400_000 + x + r.Float64()*w, 5_000_000 + y + r.Float64()*h})
		}
	}
	at(20000, 0, 0, 700, 600)
	at(9000, 260, 300, 200, 150)
	at(300, 511, 100, 6, 5) // the shed, across the border of two units
	places = append(places, places[:700]...)
	at(3, 900_000, 0, 1, 1)
	all := source(places...)
	for i := range all.batch.X {
		all.batch.Z[i] = float64(i % 13)
		all.batch.Source[i] = uint16(i % 3)
		if i%97 == 0 || i >= 29000 && i < 29300 {
			all.batch.Class[i] = 7
		}
	}
	copy(all.batch.Z[29300:], all.batch.Z[:700]) // to the last field
	copy(all.batch.Source[29300:], all.batch.Source[:700])
	copy(all.batch.Class[29300:], all.batch.Class[:700])
	return []Source{all.part(0, 12345), all.part(12345, len(places))}
}

func (m memory) part(lo, hi int) memory {
	b := m.batch
	return memory{Batch{
		X: b.X[lo:hi], Y: b.Y[lo:hi], Z: b.Z[lo:hi], Return: b.Return[lo:hi], Returns: b.Returns[lo:hi], Class: b.Class[lo:hi],
		Flags: b.Flags[lo:hi], ScanAngle: b.ScanAngle[lo:hi], Source: b.Source[lo:hi],
	}}
}

func TestBlockIsTheSameWhereverItIsKept(t *testing.T) {
	want, counted, err := Load(t.Context(), town(), metres, LoadOptions{Memory: 1 << 30})
	if err != nil {
		t.Fatal(err)
	}
	if counted.Repeated < 600 || counted.Doubted < 200 || counted.Noise < 200 || counted.Stray != 3 {
		t.Fatalf("the town is not what it should be: %+v", counted)
	}
	folder := t.TempDir()
	store := scratch.Open(folder)
	defer store.Close()
	b, census, err := Load(t.Context(), town(), metres, LoadOptions{Memory: 1000, Store: store})
	if err != nil {
		t.Fatal(err)
	}
	if want.Store != nil || b.Store != store {
		t.Error("the wrong block is on disk")
	}
	if census != counted {
		t.Errorf("on disk %+v, in memory %+v", census, counted)
	}
	same(t, b, want)
	if left, err := os.ReadDir(folder); err != nil || len(left) > 0 {
		t.Errorf("%v, %v are left in the folder", left, err)
	}
}

func same(t *testing.T, got, want *Block) {
	t.Helper()
	if got.Frame != want.Frame || got.Bounds() != want.Bounds() || !slices.Equal(got.Points, want.Points) {
		t.Error("the points are not the same")
	}
	if !slices.Equal(got.UnitSpans(), want.UnitSpans()) || !slices.Equal(got.Units(), want.Units()) {
		t.Error("the units are not the same")
	}
	box := Rect{100.5, 50, 600, 333}
	if !slices.Equal(slices.Collect(got.In(box)), slices.Collect(want.In(box))) {
		t.Error("the index is not the same")
	}
}

// A unit of more points than are put in order at once is worked row by row.
func TestDenseUnitsAreWorkedInPieces(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 8))
	points := randomPoints(r, 30000)
	want, repeated := NewBlock(Frame{}, append(points, points[:100]...))
	for _, most := range []int{1, 50, 700, 5000} {
		l := newLoader(metres, nil)
		l.slab = append(points, points[:100]...)
		if err := l.flush(); err != nil {
			t.Fatal(err)
		}
		a := newAssembly(Frame{}, []*loader{l}, nil)
		a.pieceMost = most
		if err := a.order(context.Background()); err != nil {
			t.Fatal(err)
		}
		if int(a.repeated) != repeated {
			t.Errorf("pieces of %d: %d repeated, want %d", most, a.repeated, repeated)
		}
		same(t, a.block, want)
	}
}

// A hoard is a source of one batch that says it has more points than it has.
type hoard struct {
	memory
	count uint64
}

func (h hoard) Info() Info { return Info{Count: h.count} }

func TestLoadTellsWhatItCannotKeep(t *testing.T) {
	nowhere := scratch.Open(t.TempDir() + "/missing")
	_, _, err := Load(t.Context(), town(), metres, LoadOptions{Memory: 1000, Store: nowhere})
	if err == nil || !strings.HasPrefix(err.Error(), "scratch: 1 MiB in ") || strings.Contains(err.Error(), "\n") {
		t.Errorf("a folder that is missing: %v", err)
	}
	many := hoard{source(somewhere(100, 0, 0)...), 1 << 33}
	_, _, err = Load(t.Context(), []Source{many}, metres, LoadOptions{Memory: 1 << 62, Store: nowhere})
	if want := "8589934592 points are more than a block can hold, 2147483647: give fewer files at a time"; err == nil || err.Error() != want {
		t.Errorf("got %v, want %s", err, want)
	}
}

// Coordinates beyond any CRS are no places.
func TestPointsBeyondAnyPlaceAreStrays(t *testing.T) {
	lost := source(orb.Point{1e300, 0}, orb.Point{1e300, 1})
	b, census, err := Load(t.Context(), []Source{source(somewhere(2000, 0, 0)...), lost}, metres, LoadOptions{Memory: 1 << 30})
	if err != nil || census.Stray != 2 || b.Len() != 2000 {
		t.Errorf("%d strays, %v; want 2", census.Stray, err)
	}
}

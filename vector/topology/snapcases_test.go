package topology_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/paulmach/orb"
	"github.com/paulmach/orb/encoding/wkt"
	"pgregory.net/rapid"

	"quoin/vector/topology"
)

func texts(polygons []orb.Polygon) []string {
	var out []string
	for _, p := range polygons {
		if p == nil {
			out = append(out, "")
			continue
		}
		out = append(out, wkt.MarshalString(p))
	}
	return out
}

func TestSnap(t *testing.T) {
	for _, c := range []struct {
		name     string
		in, want []string
		losses   []string
	}{
		{"rounds", []string{"POLYGON((0.1 -0.2,4.3 0.4,3.8 4.4,0.1 -0.2))"}, []string{"POLYGON((0 0,4 0,4 4,0 0))"}, nil},
		{"orients", []string{"POLYGON((0 0,0 4,4 0,0 0))"}, []string{"POLYGON((0 0,4 0,0 4,0 0))"}, nil},
		{
			"a corner on a neighbour's edge becomes a node of both",
			[]string{"POLYGON((0 0,8 0,8 4,0 4,0 0))", "POLYGON((3 4.2,5 4.1,5 7,3 7,3 4.2))"},
			[]string{"POLYGON((0 0,8 0,8 4,5 4,3 4,0 4,0 0))", "POLYGON((3 4,5 4,5 7,3 7,3 4))"},
			nil,
		},
		{
			"a hole that touches keeps touching",
			[]string{"POLYGON((0 0,9 0,9 9,0 9,0 0),(0.3 4,4 2,4 6,0.3 4))"},
			[]string{"POLYGON((0 0,9 0,9 9,0 9,0 4,0 0),(0 4,4 6,4 2,0 4))"},
			nil,
		},
		{
			"a spike goes",
			[]string{"POLYGON((0 0,8 0,8 2,12 2.1,8 2.2,8 6,0 6,0 0))"},
			[]string{"POLYGON((0 0,8 0,8 2,8 6,0 6,0 0))"},
			nil,
		},
		{
			"a neck closes: the larger piece stays",
			[]string{"POLYGON((0 0,6 0,6 2.9,10 2.9,10 1,13 1,13 5,10 5,10 3.1,6 3.1,6 6,0 6,0 0))"},
			[]string{"POLYGON((0 0,6 0,6 3,6 6,0 6,0 0))"},
			[]string{"0: 12 came apart at a neck narrower than the grid"},
		},
		{
			"narrower than the grid",
			[]string{"POLYGON((0 0,4 0.1,4 0.3,0 0.2,0 0))", "POLYGON((0 5,4 5,4 9,0 5))"},
			[]string{"", "POLYGON((0 5,4 5,4 9,0 5))"},
			[]string{"0: 0.8 narrower than the grid"},
		},
		{
			"a hole narrower than the grid closes",
			[]string{"POLYGON((0 0,9 0,9 9,0 9,0 0),(2 2,2.3 2,2.3 5,2 5,2 2))"},
			[]string{"POLYGON((0 0,9 0,9 9,0 9,0 0))"},
			nil,
		},
		{
			"a bay closes to a hole",
			[]string{"POLYGON((0 0,9 0,9 9,5.2 9,5.2 7,7 7,7 3,3 3,3 7,4.9 7,4.9 9,0 9,0 0))"},
			[]string{"POLYGON((0 0,9 0,9 9,5 9,0 9,0 0),(5 7,7 7,7 3,3 3,3 7,5 7))"},
			nil,
		},
		{"bow tie: the part that runs counter-clockwise", []string{"POLYGON((0 0,4 4,4 0,0 4,0 0))"}, []string{"POLYGON((2 2,4 0,4 4,2 2))"}, nil},
		{"empty", []string{"POLYGON EMPTY"}, []string{""}, []string{"0: 0 narrower than the grid"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			var in []orb.Polygon
			for _, text := range c.in {
				in = append(in, polygon(t, text))
			}
			got, losses, err := topology.Snap(in, 1)
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(c.want, texts(got)); diff != "" {
				t.Errorf("(-want +got):\n%s", diff)
			}
			var lost []string
			for _, l := range losses {
				lost = append(lost, strings.TrimSpace(fmt.Sprintf("%d: %.3g %s", l.Index, l.Area, l.Reason)))
			}
			if diff := cmp.Diff(c.losses, lost); diff != "" {
				t.Errorf("losses (-want +got):\n%s", diff)
			}
		})
	}
}

// At 0.1 mm in metres and in feet the results are the doubles nearest to
// multiples of the grid.
func TestSnapGivesTidyNumbers(t *testing.T) {
	in := []orb.Polygon{{{{512345.00004, 5812345.12346}, {512355.1, 5812345.1}, {512355.1, 5812355.1}, {512345.00004, 5812345.12346}}}}
	got, _, err := topology.Snap(in, 0.0001)
	if err != nil {
		t.Fatal(err)
	}
	want := orb.Polygon{{{512345, 5812345.1235}, {512355.1, 5812345.1}, {512355.1, 5812355.1}, {512345, 5812345.1235}}}
	if !got[0].Equal(want) {
		t.Errorf("got %v, want %v", got[0], want)
	}
}

func TestSnapErrors(t *testing.T) {
	for _, c := range []struct {
		name string
		at   float64
		grid float64
		want string
	}{
		{"no grid", 0, 0, "not a length"},
		{"negative", 0, -1, "not a length"},
		{"not a number", 0, math.NaN(), "not a length"},
		{"finer than doubles", 5812345, 1e-11, "finer than"},
		{"position not finite", math.Inf(1), 1, "not a finite number"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, _, err := topology.Snap([]orb.Polygon{{{{c.at, 0}, {c.at + 1, 0}, {c.at, 1}, {c.at, 0}}}}, c.grid)
			if err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("got %v", err)
			}
		})
	}
}

// Any rings at all, crossing and overlapping as they like, come out valid.
func TestSnapMendsAnything(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		position := rapid.Custom(func(t *rapid.T) orb.Point {
			return orb.Point{rapid.Float64Range(-9, 9).Draw(t, "e"), rapid.Float64Range(-9, 9).Draw(t, "n")}
		})
		ring := rapid.Custom(func(t *rapid.T) orb.Ring {
			r := orb.Ring(rapid.SliceOfN(position, 0, 9).Draw(t, "ring"))
			if len(r) > 0 {
				r = append(r, r[0])
			}
			return r
		})
		var in []orb.Polygon
		for range rapid.IntRange(0, 3).Draw(t, "polygons") {
			in = append(in, rapid.SliceOfN(ring, 0, 3).Draw(t, "rings"))
		}
		out, _, err := topology.Snap(in, rapid.SampledFrom([]float64{0.0001, 0.1, 1, 3}).Draw(t, "grid"))
		if err != nil {
			t.Fatal(err)
		}
		for i, p := range out {
			if p == nil {
				continue
			}
			if err := topology.Validate(p); err != nil || !topology.Oriented(p) {
				t.Fatalf("polygon %d: %v: %v of %v", i, err, p, in[i])
			}
		}
	})
}

func FuzzSnap(f *testing.F) {
	f.Add([]byte{0, 0, 40, 0, 40, 40, 0, 40}, byte(3))
	f.Add([]byte{0, 0, 255, 1, 255, 2, 0, 3, 9, 9}, byte(60))
	f.Fuzz(func(t *testing.T, in []byte, grid byte) {
		var ring orb.Ring
		for i := 0; i+1 < len(in) && i < 64; i += 2 {
			ring = append(ring, orb.Point{far[0] + float64(in[i])/7, far[1] + float64(in[i+1])/7})
		}
		if len(ring) == 0 || grid == 0 {
			return
		}
		out, _, err := topology.Snap([]orb.Polygon{{append(ring, ring[0])}}, float64(grid)/16)
		if err != nil {
			t.Fatal(err)
		}
		if out[0] != nil {
			if err := topology.Validate(out[0]); err != nil {
				t.Fatalf("%v: %v of %v", err, out[0], ring)
			}
		}
	})
}

func ExampleSnap() {
	long := orb.Polygon{{{0, 0}, {20, 0}, {20, 8.00003}, {0, 8}, {0, 0}}}
	wing := orb.Polygon{{{5, 8.00001}, {9, 8.00001}, {9, 12}, {5, 12}, {5, 8.00001}}}
	snapped, _, err := topology.Snap([]orb.Polygon{long, wing}, 0.0001)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, p := range snapped {
		fmt.Println(wkt.MarshalString(p))
	}
	// Output:
	// POLYGON((0 0,20 0,20 8,9 8,5 8,0 8,0 0))
	// POLYGON((5 8,9 8,9 12,5 12,5 8))
}

// terraces returns n houses in rows, each sharing walls with its neighbours.
func terraces(n int) []orb.Polygon {
	r := rand.New(rand.NewPCG(1, 2))
	var out []orb.Polygon
	for i := range n {
		e, no := far[0]+8*float64(i%100), far[1]+30*float64(i/100)
		depth := 9 + r.Float64()
		out = append(out, orb.Polygon{{{e, no}, {e + 8, no}, {e + 8, no + depth}, {e + 3, no + depth}, {e + 3, no + depth + 2}, {e, no + depth + 2}, {e, no}}})
	}
	return out
}

func BenchmarkSnap(b *testing.B) {
	for _, n := range []int{1000, 10000} {
		b.Run(fmt.Sprintf("n=%d", n), func(b *testing.B) {
			in := terraces(n)
			b.ReportAllocs()
			for b.Loop() {
				if _, _, err := topology.Snap(in, 0.0001); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkOverlaps(b *testing.B) {
	in, _, err := topology.Snap(terraces(1000), 0.0001)
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := topology.Overlaps(in); err != nil {
			b.Fatal(err)
		}
	}
}

// A hole that crosses the exterior so that no part of the rings is valid.
func TestSnapDropsWhatCannotBeMended(t *testing.T) {
	p := polygon(t, "POLYGON((1 0,4 5,0 4,1 0),(1 0,5 2,3 6,1 0))")
	out, losses, err := topology.Snap([]orb.Polygon{p}, 1)
	if err != nil || out[0] != nil || len(losses) != 1 || losses[0].Reason != "not valid before it was snapped" {
		t.Errorf("got %v, %v, %v", out, losses, err)
	}
}

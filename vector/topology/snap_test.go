package topology_test

import (
	"math"
	"slices"
	"testing"

	"github.com/paulmach/orb"
	"pgregory.net/rapid"

	"quoin/vector/topology"
)

// far is an origin at which doubles are as coarse as in a real grid.
var far = orb.Point{512345, 5812345}

// pieces draws a rectangle cut again and again by straight lines: convex
// polygons that tile it, most of them with neighbours' vertices in the middle
// of their edges.
func pieces(t *rapid.T) []orb.Polygon {
	size := rapid.Float64Range(0.5, 40).Draw(t, "size")
	rings := []orb.Ring{{far, {far[0] + size, far[1]}, {far[0] + size, far[1] + size}, {far[0], far[1] + size}}}
	for range rapid.IntRange(0, 8).Draw(t, "cuts") {
		i := rapid.IntRange(0, len(rings)-1).Draw(t, "which")
		r := rings[i]
		n := len(r)
		a := rapid.IntRange(0, n-1).Draw(t, "edge")
		b := (a + rapid.IntRange(1, n-1).Draw(t, "across")) % n
		u, v := rapid.Float64Range(0.1, 0.9).Draw(t, "u"), rapid.Float64Range(0.1, 0.9).Draw(t, "v")
		p, q := between(r[a], r[(a+1)%n], u), between(r[b], r[(b+1)%n], v)
		rings[i] = append(orb.Ring{p}, arc(r, (a+1)%n, b, q)...)
		rings = append(rings, append(orb.Ring{q}, arc(r, (b+1)%n, a, p)...))
	}
	var out []orb.Polygon
	for _, r := range rings {
		out = append(out, orb.Polygon{append(r, r[0])})
	}
	return out
}

func between(a, b orb.Point, t float64) orb.Point {
	return orb.Point{a[0] + t*(b[0]-a[0]), a[1] + t*(b[1]-a[1])}
}

// arc returns the vertices from index i up to j, then last.
func arc(r orb.Ring, i, j int, last orb.Point) orb.Ring {
	var out orb.Ring
	for ; ; i = (i + 1) % len(r) {
		out = append(out, r[i])
		if i == j {
			return append(out, last)
		}
	}
}

func TestSnapKeepsTilingsValidAndApart(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := pieces(t)
		grid := rapid.SampledFrom([]float64{0.0001, 0.0001 / 0.3048, 0.01, 0.5, 2, 10}).Draw(t, "grid")
		before, total := slices.Clone(in), 0.0
		for i := range before {
			before[i] = before[i].Clone()
			total += topology.Area(in[i])
		}
		out, losses, err := topology.Snap(in, grid)
		if err != nil {
			t.Fatal(err)
		}
		for i := range in {
			if !in[i].Equal(before[i]) {
				t.Fatal("the argument was changed")
			}
		}
		var live []orb.Polygon
		for i, p := range out {
			if p == nil {
				continue
			}
			live = append(live, p)
			if err := topology.Validate(p); err != nil {
				t.Fatalf("polygon %d: %v: %v", i, err, p)
			}
			if !topology.Oriented(p) {
				t.Fatalf("polygon %d is not oriented", i)
			}
		}
		pairs, err := topology.Overlaps(live)
		if err != nil {
			t.Fatal(err)
		}
		if len(pairs) > 0 {
			t.Fatalf("overlaps %v of %v", pairs, live)
		}
		again, more, err := topology.Snap(out, grid)
		if err != nil {
			t.Fatal(err)
		}
		for i := range out {
			if !out[i].Equal(again[i]) {
				t.Fatalf("a second snap moves polygon %d: %v to %v", i, out[i], again[i])
			}
		}
		for _, l := range more {
			if out[l.Index] != nil {
				t.Fatalf("a second snap loses %v", l)
			}
		}
		// Pieces that only touch get no vertices but those of their neighbours.
		for _, p := range live {
			for _, q := range p[0] {
				if !nearAny(q, in, grid/2*1.001+1e-9) {
					t.Fatalf("vertex %v is not that of any piece", q)
				}
			}
		}
		// No vertex moves by more than half a step in either axis, so neither
		// does any edge by more than half a diagonal.
		var after float64
		for _, p := range live {
			after += topology.Area(p)
		}
		for _, l := range losses {
			after += l.Area
		}
		var length float64
		for _, p := range in {
			length += math.Abs(p[0].Bound().Right()-p[0].Bound().Left()) + math.Abs(p[0].Bound().Top()-p[0].Bound().Bottom())
		}
		if tolerance := 2 * length * grid * math.Sqrt2 / 2 * 1.01; math.Abs(after-total) > tolerance+1e-6 {
			t.Fatalf("area goes from %v to %v", total, after)
		}
	})
}

// nearAny reports whether a vertex of the polygons is within the reach of q, on
// each axis.
func nearAny(q orb.Point, polygons []orb.Polygon, reach float64) bool {
	for _, p := range polygons {
		for _, ring := range p {
			for _, v := range ring {
				if math.Abs(v[0]-q[0]) <= reach && math.Abs(v[1]-q[1]) <= reach {
					return true
				}
			}
		}
	}
	return false
}

// Overlapping outlines that are cut from each other and snapped lie apart, as
// valid polygons: the way that footprints are made.
func TestCutThenSnapLeavesNoOverlap(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := []orb.Polygon{star(t, "a"), star(t, "b"), star(t, "c"), star(t, "d")}
		for i := range in {
			for j := range i {
				rest, err := topology.Difference(in[i], in[j])
				if err != nil {
					t.Fatal(err)
				}
				in[i] = nil
				for _, p := range rest {
					if topology.Area(p) > topology.Area(in[i]) {
						in[i] = p
					}
				}
			}
		}
		out, _, err := topology.Snap(in, 0.0001)
		if err != nil {
			t.Fatal(err)
		}
		for i, p := range out {
			if p == nil {
				continue
			}
			if err := topology.Validate(p); err != nil {
				t.Fatalf("polygon %d: %v", i, err)
			}
		}
		pairs, err := topology.Overlaps(out)
		if err != nil {
			t.Fatal(err)
		}
		if len(pairs) > 0 {
			t.Fatalf("overlaps %v", pairs)
		}
	})
}

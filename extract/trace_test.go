package extract

import (
	"math"
	"testing"

	"github.com/paulmach/orb"
	"pgregory.net/rapid"

	"quoin/extract/cloud"
	"quoin/extract/outline"
	"quoin/extract/roof"
	"quoin/vector/topology"
)

var plain = cloud.Frame{Horizontal: 1, Vertical: 1}

func TestTraceKeepsAreaAndIsValid(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var cells []roof.Cell
		for i, in := range rapid.SliceOfN(rapid.Bool(), 36, 36).Draw(t, "cells") {
			if in {
				cells = append(cells, roof.Cell{Row: int32(i / 6), Col: int32(i % 6)})
			}
		}
		var area float64
		for _, p := range trace(plain, cells, 0.5) {
			if err := topology.Validate(p); err != nil {
				t.Fatalf("%v: %v", p, err)
			}
			area += topology.Area(p)
		}
		if want := float64(len(cells)) / 4; area != want {
			t.Fatalf("the parts have %v m², the cells %v", area, want)
		}
	})
}

func TestTraceDropsVerticesOnStraightSides(t *testing.T) {
	cells := []roof.Cell{{Row: 0, Col: 0}, {Row: 0, Col: 1}, {Row: 0, Col: 2}}
	got := trace(plain, cells, 1)
	if len(got) != 1 || len(got[0]) != 1 || len(got[0][0]) != 5 {
		t.Errorf("got %v, want one rectangle", got)
	}
}

func TestExtentTellsTheEdgeOfTheData(t *testing.T) {
	var points []cloud.Point
	for i := range 200 * 200 {
		x, y := float64(i%200)/2, float64(i/200)/2
		if hidden := x > 40 && x < 46 && y > 40 && y < 60; !hidden {
			points = append(points, cloud.Pack(x, y, 0, cloud.Attributes{Time: float64(i)}))
		}
	}
	b, _ := cloud.NewBlock(plain, points)
	e := newExtent(b)
	ring := func(x0, y0, x1, y1 float64) []outline.Vertex {
		return rectangle(x0, y0, x1, y1, 0, 0.01).rings[0].Vertices
	}
	if e.cuts(ring(50, 50, 60, 60)) {
		t.Error("a house in the middle counts as cut")
	}
	if e.cuts(ring(46, 44, 56, 56)) {
		t.Error("a house beside a hidden strip counts as cut")
	}
	if !e.cuts(ring(90, 40, 100, 50)) {
		t.Error("a house at the edge does not count as cut")
	}
}

func TestInteriorAngle(t *testing.T) {
	for _, c := range []struct {
		a, b, c orb.Point
		want    float64
	}{
		{orb.Point{0, 0}, orb.Point{1, 0}, orb.Point{1, 1}, 90},
		{orb.Point{1, 1}, orb.Point{1, 0}, orb.Point{0, 0}, 270},
		{orb.Point{0, 0}, orb.Point{1, 0}, orb.Point{2, 0}, 180},
	} {
		if got := interiorAngle(c.a, c.b, c.c); got < c.want-1e-9 || got > c.want+1e-9 {
			t.Errorf("the angle at %v is %v, want %v", c.b, got, c.want)
		}
	}
}

// TestNearestOccupiedIsExact compares the transform with a search of all cells.
func TestNearestOccupiedIsExact(t *testing.T) {
	g := cloud.Grid{Cell: 1, Rows: 20, Cols: 30}
	rapid.Check(t, func(t *rapid.T) {
		set := map[int]bool{}
		for _, c := range rapid.SliceOfN(rapid.IntRange(0, g.Len()-1), 0, 20).Draw(t, "cells") {
			set[c] = true
		}
		for c, s := range nearestOccupied(g, func(c int) bool { return set[c] }) {
			best := math.MaxInt
			for q := range set {
				best = min(best, distanceSq(g, c, q))
			}
			if len(set) == 0 && s >= 0 || len(set) > 0 && (!set[int(s)] || distanceSq(g, c, int(s)) != best) {
				t.Fatalf("cell %d: nearest is %d, want one at a squared distance of %d", c, s, best)
			}
		}
	})
}

package topology_test

import (
	"math"
	"testing"

	"github.com/paulmach/orb"
	"pgregory.net/rapid"

	"quoin/vector/topology"
)

func rectangle(x0, y0, x1, y1 float64) orb.Polygon {
	return orb.Polygon{{{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}, {x0, y0}}}
}

func TestDissolve(t *testing.T) {
	tiles := []orb.Polygon{rectangle(0, 0, 2, 2), rectangle(2, 0, 4, 1), rectangle(2, 1, 4, 2), rectangle(0, 2, 4, 3)}
	for _, c := range []struct {
		name   string
		groups []int
		areas  [][]float64
	}{
		{"all one", []int{0, 0, 0, 0}, [][]float64{{12}}},
		{"each by itself", []int{0, 1, 2, 3}, [][]float64{{4}, {2}, {2}, {4}}},
		{"two pieces of one group", []int{0, 1, 0, 0}, [][]float64{{10}, {2}}},
		{"apart", []int{0, 0, 1, 0}, [][]float64{{10}, {2}}},
		{"a group without polygons", []int{1, 1, 1, 1}, [][]float64{nil, {12}}},
		{"left out", []int{-1, 0, 0, -1}, [][]float64{{4}}},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, err := topology.Dissolve(tiles, c.groups, 1e-4)
			if err != nil {
				t.Fatal(err)
			}
			if len(got) != len(c.areas) {
				t.Fatalf("%d groups, want %d", len(got), len(c.areas))
			}
			for g, want := range c.areas {
				if len(got[g]) != len(want) {
					t.Fatalf("group %d: %d polygons, want %d", g, len(got[g]), len(want))
				}
				for i, p := range got[g] {
					if a := topology.Area(p); math.Abs(a-want[i]) > 1e-9 {
						t.Errorf("group %d: area %v, want %v", g, a, want[i])
					}
				}
			}
		})
	}
}

func TestDissolveNeedsAGroupEach(t *testing.T) {
	if _, err := topology.Dissolve([]orb.Polygon{rectangle(0, 0, 1, 1)}, nil, 1e-4); err == nil {
		t.Error("no error")
	}
}

// TestDissolveKeepsTheArea cuts a square by random lines through it; the pieces
// by any grouping cover what the square did.
func TestDissolveKeepsTheArea(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		pieces := []orb.Polygon{rectangle(100, 200, 110, 208)}
		for range rapid.IntRange(0, 5).Draw(t, "cuts") {
			angle := rapid.Float64Range(0, math.Pi).Draw(t, "angle")
			x, y := rapid.Float64Range(101, 109).Draw(t, "x"), rapid.Float64Range(201, 207).Draw(t, "y")
			var cut []orb.Polygon
			for _, p := range pieces {
				left, right, err := topology.Cut(p, orb.Point{x, y}, orb.Point{x + math.Cos(angle), y + math.Sin(angle)})
				if err != nil {
					t.Fatal(err)
				}
				cut = append(append(cut, left...), right...)
			}
			pieces = cut
		}
		groups := make([]int, len(pieces))
		for i := range groups {
			groups[i] = rapid.IntRange(0, 2).Draw(t, "group")
		}
		got, err := topology.Dissolve(pieces, groups, 1e-4)
		if err != nil {
			t.Fatal(err)
		}
		sum := 0.0
		for _, g := range got {
			for _, p := range g {
				sum += topology.Area(p)
			}
		}
		if math.Abs(sum-80) > 0.01 {
			t.Errorf("area %v of 80 left", sum)
		}
	})
}

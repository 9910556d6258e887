package main

import (
	"math"
	"testing"

	"github.com/paulmach/orb"

	"quoin/vector/topology"
)

// turned returns a polygon turned about the origin and moved to coordinates of
// a projected CRS.
func turned(p orb.Polygon, degrees float64) orb.Polygon {
	sin, cos := math.Sincos(degrees * math.Pi / 180)
	out := p.Clone()
	for _, ring := range out {
		for i, q := range ring {
			ring[i] = orb.Point{5e5 + cos*q[0] - sin*q[1], 5.6e6 + sin*q[0] + cos*q[1]}
		}
	}
	return out
}

// along returns a polygon's boundary with a vertex at least every step.
func along(p orb.Polygon, step float64) orb.Polygon {
	var out orb.Polygon
	for _, ring := range p {
		var r orb.Ring
		for i := range len(ring) - 1 {
			a, b := ring[i], ring[i+1]
			n := int(math.Hypot(b[0]-a[0], b[1]-a[1])/step) + 1
			for k := range n {
				t := (float64(k) + 0.5) / float64(n)
				r = append(r, orb.Point{a[0] + t*(b[0]-a[0]), a[1] + t*(b[1]-a[1])})
			}
		}
		out = append(out, append(r, r[0]))
	}
	return out
}

// The baseline is as good as its input: from a hull along the true sides it
// gets the true corners, a courtyard's and a skewed wall's too.
func TestSquaredFindsTheTrueCorners(t *testing.T) {
	truth := turned(orb.Polygon{
		{{0, 0}, {20, 0}, {20, 12}, {12, 16}, {0, 16}, {0, 0}},
		{{4, 4}, {4, 10}, {10, 10}, {10, 4}, {4, 4}},
	}, 17)
	got := squared(along(truth, 0.4), truth, 1)
	for r := range truth {
		for i := range truth[r] {
			if d := math.Hypot(got[r][i][0]-truth[r][i][0], got[r][i][1]-truth[r][i][1]); d > 1e-6 {
				t.Errorf("corner %d.%d is %g m off", r, i, d)
			}
		}
	}
}

// A hull that lies 20 cm inside gives sides 20 cm inside.
func TestSquaredKeepsTheHullsBias(t *testing.T) {
	truth := turned(orb.Polygon{{{0, 0}, {20, 0}, {20, 12}, {0, 12}, {0, 0}}}, -31)
	inner := turned(orb.Polygon{{{0.2, 0.2}, {19.8, 0.2}, {19.8, 11.8}, {0.2, 11.8}, {0.2, 0.2}}}, -31)
	got := squared(along(inner, 0.4), truth, 1)
	if area, want := topology.Area(got), 19.6*11.6; math.Abs(area-want) > 1e-6 {
		t.Errorf("area %.6f, want %.6f", area, want)
	}
}

// Points on a grid of 0.5 m over an L: edges of up to 0.75 m keep the notch,
// whose corner the hull cuts by half a grid cell.
func TestConcaveHullKeepsANotch(t *testing.T) {
	var points []orb.Point
	for x := 0.0; x <= 10; x += 0.5 {
		for y := 0.0; y <= 10; y += 0.5 {
			if x <= 5 || y <= 5 {
				// Off the grid by less than a centimetre, so that there is
				// one triangulation only.
				points = append(points, orb.Point{4e5 + x + 0.004*math.Sin(9*x+31*y), 5e6 + y + 0.004*math.Sin(57*x+5*y)})
			}
		}
	}
	hulls, err := concaveHulls(points, []float64{0.75, 20}, false)
	if err != nil || len(hulls) != 2 {
		t.Fatal(hulls, err)
	}
	hull := hulls[0]
	if area := topology.Area(hull); math.Abs(area-(75-0.125)) > 0.5 {
		t.Errorf("area %.2f, want about 74.9", area)
	}
	if longest := longestEdge(hull[0]); longest > 0.76 {
		t.Errorf("longest edge %.2f, want 0.75 at most", longest)
	}
	// By long edges the hull is convex: the square less a triangle.
	if area := topology.Area(hulls[1]); math.Abs(area-87.5) > 0.5 {
		t.Errorf("area by long edges %.2f, want about 87.5", area)
	}
	if hulls, err := concaveHulls(points[:3], []float64{1}, false); err != nil || len(hulls) != 0 {
		t.Errorf("of three points: %v, %v", hulls, err)
	}
}

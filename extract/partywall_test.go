package extract

import (
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"quoin/extract/cloud"
	"quoin/extract/outline"
)

// rectangle is a plan with edges of the given standard error, turned about the
// origin.
func rectangle(x0, y0, x1, y1, turn, sigma float64) *plan {
	sin, cos := math.Sincos(turn)
	var ring outline.Ring
	for _, p := range [][2]float64{{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}} {
		ring.Vertices = append(ring.Vertices, outline.Vertex{X: cos*p[0] - sin*p[1], Y: sin*p[0] + cos*p[1]})
		ring.Edges = append(ring.Edges, outline.Edge{Sigma: sigma})
	}
	return &plan{rings: []outline.Ring{ring}}
}

// TestPartyWallBecomesOne has two houses whose outlines leave a gap of 4 cm
// between them; the better known edge weighs sixteen times as much.
func TestPartyWallBecomesOne(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		turn := rapid.Float64Range(0, 2*math.Pi).Draw(t, "turn")
		a, b := rectangle(0, 0, 10, 8, turn, 0.01), rectangle(10.04, 0, 20, 8, turn, 0.04)
		shareWalls([]*plan{a, b}, 0.15)
		sin, cos := math.Sincos(turn)
		want := 10 + 0.04/17
		for _, v := range []outline.Vertex{a.rings[0].Vertices[1], a.rings[0].Vertices[2], b.rings[0].Vertices[0], b.rings[0].Vertices[3]} {
			if x := cos*v.X + sin*v.Y; math.Abs(x-want) > 1e-9 {
				t.Fatalf("the wall is at %.6f, want %.6f", x, want)
			}
		}
		if v := a.rings[0].Vertices[0]; math.Abs(cos*v.X+sin*v.Y) > 1e-9 {
			t.Fatal("an edge that nobody shares was moved")
		}
	})
}

func TestGapsAreNoPartyWalls(t *testing.T) {
	for name, other := range map[string]*plan{
		"a passage":               rectangle(10.5, 0, 20, 8, 0, 0.01),
		"one behind the other":    rectangle(10.04, 8.2, 20, 16, 0, 0.01),
		"askew":                   rectangle(10.04, 0, 20, 8, 0.1, 0.01),
		"the same side of a line": rectangle(0, 20, 10, 28, 0, 0.01),
	} {
		a, before := rectangle(0, 0, 10, 8, 0, 0.01), rectangle(0, 0, 10, 8, 0, 0.01)
		shareWalls([]*plan{a, other}, 0.15)
		if d := cmp.Diff(before.rings, a.rings); d != "" {
			t.Errorf("%s: the plan was moved: %s", name, d)
		}
	}
}

func TestRowOfThreeSharesOneLine(t *testing.T) {
	// A long house whose wall two others share, each with a small error.
	a := rectangle(0, 0, 20, 8, 0, 0.01)
	b, c := rectangle(0, 8.03, 9, 16, 0, 0.01), rectangle(10, 7.98, 20, 16, 0, 0.01)
	shareWalls([]*plan{a, b, c}, 0.15)
	y := a.rings[0].Vertices[3].Y
	line := func(x float64) float64 {
		l, r := a.rings[0].Vertices[3], a.rings[0].Vertices[2]
		return l.Y + (x-l.X)/(r.X-l.X)*(r.Y-l.Y)
	}
	for _, v := range []outline.Vertex{b.rings[0].Vertices[0], b.rings[0].Vertices[1], c.rings[0].Vertices[0], c.rings[0].Vertices[1]} {
		if math.Abs(v.Y-line(v.X)) > 1e-9 {
			t.Errorf("a corner at %.4f is not on the wall, which passes at %.4f", v.Y, line(v.X))
		}
	}
	if math.Abs(y-8) > 0.03 {
		t.Errorf("the wall moved to %.3f", y)
	}
}

func TestSettleLeavesNeitherGapNorOverlap(t *testing.T) {
	b, roof := gable()
	m := quarterMetre
	frame := cloud.Frame{OriginE: 500 * 1024, OriginN: 5000 * 1024, Horizontal: 0.3048, Vertical: 0.3048}
	draw := func(p *plan) *drawing {
		return &drawing{plan: *p, shape: newRoofShape(b, roof, m, 4)}
	}
	drawn := []*drawing{
		draw(rectangle(0, 0, 10, 8, 0.3, 0.01)), draw(rectangle(10.03, 0, 20, 8, 0.3, 0.01)), // a party wall
		draw(rectangle(30, 0, 40, 8, 0.3, 0.01)), draw(rectangle(37, 4, 50, 12, 0.3, 0.05)), // two that overlap
	}
	if err := settle(drawn, frame, m); err != nil {
		t.Fatal(err)
	}
	shared := map[[2]float64]int{}
	for i, d := range drawn {
		if d.footprint.Polygon == nil {
			t.Fatalf("outline %d is gone", i)
		}
		for _, c := range d.footprint.Corners {
			if got := d.footprint.Polygon[c.Ring][c.Vertex]; got != c.Point {
				t.Errorf("corner %d of outline %d is at %v, the vertex at %v", c.Vertex, i, c.Point, got)
			}
			shared[c.Point]++
		}
	}
	twice := 0
	for _, n := range shared {
		if n == 2 {
			twice++
		}
	}
	if twice < 2 {
		t.Errorf("%d corners are shared to the last bit, want the 2 ends of the party wall", twice)
	}
	if drawn[0].cut || drawn[1].cut || drawn[2].cut || !drawn[3].cut {
		t.Error("of the two that overlap, the one that is known less well was not cut")
	}
}

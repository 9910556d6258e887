package outline

import (
	"math"
	"testing"
)

// box is the outline of an axis-parallel rectangle about an origin, of which every offset has the given variance and the direction is known.
func box(x0, y0, x1, y1, variance float64) *Result {
	m := planModel(plan{{{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}}})
	r := &Result{OriginX: 3, OriginY: -2, Directions: []float64{0}, Rings: make([]Ring, 1)}
	for i, s := range m.spans(0, nil) {
		turns := int(math.Round(m.theta[0] / (math.Pi / 2)))
		r.Rings[0].Vertices = append(r.Rings[0].Vertices, Vertex{X: s.ax, Y: s.ay})
		r.Rings[0].Edges = append(r.Rings[0].Edges, Edge{
			Quarter: (m.rings[0][i].quarter + turns) & 3, Parameter: s.param, Sigma: math.Sqrt(variance), Length: s.length(),
		})
	}
	n := m.parameters()
	r.Covariance = make([]float64, n*n)
	r.Covariance[0] = 1e-10
	for i := 1; i < n; i++ {
		r.Covariance[i*n+i] = variance
	}
	return r
}

// TestJoinByHand brings two faces of one wall together: 10.00 m with a variance of 1 cm² and 10.04 m with 4 cm². Doubled, since both are seen
// by the same pulses, these are 2 and 8: the wall lies at (10.00·8 + 10.04·2)/10 = 10.008 m with a variance of 2·8/10 = 1.6 cm². Other walls
// stay where they are, as they are not correlated with it.
func TestJoinByHand(t *testing.T) {
	a, b := box(0, 0, 10, 8, 1e-4), box(10.04, -1, 18, 9, 4e-4)
	if !Join([]*Result{a, b}, []Tie{{A: 0, EdgeA: 1, B: 1, EdgeB: 3}}, 1) {
		t.Fatal("not joined")
	}
	for _, v := range []Vertex{a.Rings[0].Vertices[1], a.Rings[0].Vertices[2], b.Rings[0].Vertices[0], b.Rings[0].Vertices[3]} {
		if math.Abs(v.X-10.008) > 1e-4 || math.Abs(v.CovXX-1.6e-4) > 1e-6 {
			t.Errorf("corner at %.4f with variance %.3g, want 10.008 and 1.6e-4", v.X, v.CovXX)
		}
	}
	if v := b.Rings[0].Vertices[1]; math.Abs(v.X-18) > 1e-4 || math.Abs(v.CovXX-4e-4) > 1e-6 {
		t.Errorf("the far wall moved to %.4f with variance %.3g", v.X, v.CovXX)
	}
	if s := a.Rings[0].Edges[1].Sigma; math.Abs(s*s-1.6e-4) > 1e-6 {
		t.Errorf("standard error of the wall %.5f", s)
	}
}

// TestJoinKeepsApart leaves faces alone that are further apart than their errors explain, and joins a chain of three, each pair in the middle of its wall.
func TestJoinKeepsApart(t *testing.T) {
	a, b := box(0, 0, 10, 8, 1e-4), box(10.3, 0, 18, 8, 1e-4)
	if Join([]*Result{a, b}, []Tie{{A: 0, EdgeA: 1, B: 1, EdgeB: 3}}, 1) || a.Rings[0].Vertices[1].X != 10 {
		t.Error("walls 30 cm apart, known to a centimetre, were joined")
	}
	c := box(17.98, 0, 26, 8, 1e-4)
	b = box(10.02, 0, 18, 8, 1e-4)
	for k, r := range []*Result{a, b, c} {
		r.Directions[0], r.Covariance[0] = 1e-3*float64(k), 1e-6
	}
	if !Join([]*Result{a, b, c}, []Tie{{A: 0, EdgeA: 1, B: 1, EdgeB: 3}, {A: 1, EdgeA: 1, B: 2, EdgeB: 3}}, 1) {
		t.Fatal("not joined")
	}
	for _, pair := range [2][2]Vertex{{a.Rings[0].Vertices[1], b.Rings[0].Vertices[0]}, {b.Rings[0].Vertices[2], c.Rings[0].Vertices[3]}} {
		other := map[Vertex]Vertex{a.Rings[0].Vertices[1]: a.Rings[0].Vertices[2], b.Rings[0].Vertices[2]: b.Rings[0].Vertices[1]}[pair[0]]
		far := map[Vertex]Vertex{b.Rings[0].Vertices[0]: b.Rings[0].Vertices[3], c.Rings[0].Vertices[3]: c.Rings[0].Vertices[0]}[pair[1]]
		if off := (pair[0].X + other.X - pair[1].X - far.X) / 2; math.Abs(off) > 1e-4 {
			t.Errorf("faces are %.2g m apart in the middle", off)
		}
	}
}

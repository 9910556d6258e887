package outline

import (
	"testing"
)

// TestSimpleShapes asks for the exact topology and a corner error near the bound: 40 buildings, fixed seed. The standard error of a
// pooled ratio over 40·6.5 corners is about 6 %, so 1.25 is 1.15 and less than two of them.
func TestSimpleShapes(t *testing.T) {
	s := sampling{density: 8, sigma: 0.03, pattern: "poisson"}
	c := s.run(shapes(4), 40, 1, nil)
	t.Log(c)
	if c.exact < 39 {
		t.Errorf("exact topology in %d of %d", c.exact, c.n)
	}
	if ratio := c.sumSq / c.boundSq; ratio > 1.25*1.25 {
		t.Errorf("mean square error is %.2f times the bound's", ratio)
	}
}

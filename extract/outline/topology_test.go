package outline

import (
	"testing"
)

// A pooled check of n buildings: how many must have the exact topology, and what the pooled corner error may be in bounds.
type pooledCheck struct {
	name   string
	shapes map[string]plan
	s      sampling
	n      int
	exact  int
	ratio  float64
}

// TestTopology asks for the true corners, no more and no less, of shapes beyond the simple ones. The counts leave room for one miss in
// twenty; the standard error of a pooled ratio is about 1/√(2·corners), 4 % for 300 corners.
func TestTopology(t *testing.T) {
	for _, c := range []pooledCheck{
		{"cross, stairs, comb, courtyard", otherShapes(4), sampling{density: 8, sigma: 0.02, pattern: "scan"}, 24, 23, 1.25},
		{"not square", freeShapes(), sampling{density: 30, sigma: 0.02, pattern: "poisson"}, 21, 19, 1.6},
		{"steps of half a metre", stepShapes(0.5), sampling{density: 30, sigma: 0.02, pattern: "scan"}, 24, 22, 1.25},
		{"split pulses", shapes(4), sampling{density: 16, sigma: 0.02, beam: 0.1, pattern: "scan"}, 24, 24, 1},
		{"one swath, one side in its shadow", shapes(4), sampling{density: 16, sigma: 0.03, pattern: "poisson", shadow: true}, 24, 22, 2},
		{"one observation in fifty mislabelled", shapes(4), sampling{density: 16, sigma: 0.03, pattern: "poisson", mislabel: 0.02}, 24, 23, 1.5},
		{"sheds of 6 m²", map[string]plan{"shed": {{{0, 0}, {3, 0}, {3, 2}, {0, 2}}}}, sampling{density: 8, sigma: 0.02, pattern: "poisson"}, 24, 23, 1.4},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := c.s.run(c.shapes, c.n, 17, nil)
			t.Log(got)
			if got.exact < c.exact {
				t.Errorf("exact topology in %d of %d, want %d", got.exact, got.n, c.exact)
			}
			if got.sumSq > c.ratio*c.ratio*got.boundSq {
				t.Errorf("corner error above %.2f bounds", c.ratio)
			}
		})
	}
}

// TestCalibration asks for honest covariance: of some 550 corners in each sampling the 95 % ellipse must cover 90 to 98 %, and the mean
// normalised squared error over its two degrees of freedom lie from 0.75 to 1.3; the mean error along the edges' outward normals must stay
// within 0.02 spacings and three of its standard errors.
func TestCalibration(t *testing.T) {
	for _, s := range []sampling{
		{density: 4, sigma: 0.02, pattern: "poisson"},
		{density: 16, sigma: 0.03, pattern: "poisson"},
		{density: 16, sigma: 0.03, pattern: "parallel"},
	} {
		c := s.run(shapes(4), 80, 23, nil)
		t.Logf("%+v: %v", s, c)
		if share := float64(c.covered) / c.corners; share < 0.90 || share > 0.98 {
			t.Errorf("%+v: ellipses cover %.3f", s, share)
		}
		if nees := c.neesSum / c.corners / 2; nees < 0.75 || nees > 1.3 {
			t.Errorf("%+v: mean normalised squared error/2 %.2f", s, nees)
		}
		if bias := c.outward / c.edges; s.pattern != "parallel" && (bias > 0.02/2+0.003 || bias < -0.02/2-0.003) {
			t.Errorf("%+v: outward bias %.4f m", s, bias)
		}
	}
}

// TestMeasuresFollow asks that a wrong noise is seen in the result's own review or costs little: half and twice the noise cost less than a
// quarter in corner error.
func TestMeasuresFollow(t *testing.T) {
	s := sampling{density: 16, sigma: 0.03, pattern: "poisson"}
	right := s.run(shapes(4), 24, 29, nil)
	for _, factor := range []float64{0.5, 2} {
		wrong := s.run(shapes(4), 24, 29, func(m *Measures) { m.Sigma *= factor })
		if wrong.sumSq > 1.25*1.25*right.sumSq {
			t.Errorf("noise times %v: error grows from %v to %v", factor, right, wrong)
		}
	}
}

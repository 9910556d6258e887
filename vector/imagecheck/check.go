package imagecheck

import (
	"context"
	"errors"
	"fmt"
	"math"
)

// Options govern a check.
type Options struct {
	// Unit is the length in metres of a unit of the CRS of the edges.
	Unit float64
	// Reach is how far in metres an image edge is looked for; below 0.5 it is
	// DefaultReach.
	Reach float64
	// SameCloud says that the image was rectified or coloured with the cloud that
	// the edges come from.
	SameCloud Dependence
}

// DefaultReach is more than the height of a house times the lean of any usual
// orthophoto.
const DefaultReach = 2.5

// Dependence says whether an image was made with the cloud of the edges.
type Dependence string

// The answers.
const (
	Unknown     Dependence = "unknown"
	Independent Dependence = "no"
	Dependent   Dependence = "yes"
)

// ParseDependence reads yes, no or unknown.
func ParseDependence(text string) (Dependence, error) {
	switch d := Dependence(text); d {
	case Unknown, Independent, Dependent:
		return d, nil
	}
	return Unknown, fmt.Errorf("%q is no answer: write yes, no or unknown", text)
}

// ErrNothingSeen says that no edge could be measured: the image does not show the
// place, or its pixels are too large.
var ErrNothingSeen = errors.New("no edge of the layer could be measured on the image: it does not show the place, or its pixels are too large for these edges")

// A checker is a check on its way.
type checker struct {
	edges   []Edge
	shared  []bool // by edge: another building adjoins
	groups  []group
	frame   frame
	half    float64
	reach   float64
	pixel   float64
	blur    blur
	within  float64 // scatter of the edges of a building about its own fit, metres
	sampler sampler
}

// Check measures an image on the edges of a layer.
//
// The edges are in one CRS in which lengths can be measured, in the order of
// their buildings. The result has an entry for each edge and each building. It
// does not depend on anything but the edges, the image and the options. Memory
// is that of the image beside one edge, and a few numbers an edge.
//
// ErrNothingSeen is returned when there is nothing to measure, the errors of the
// image as they come, and the context's when it was cancelled.
func Check(ctx context.Context, img Image, edges []Edge, o Options) (*Result, error) {
	if !(o.Unit > 0) {
		return nil, errors.New("imagecheck: the unit of the edges is not known")
	}
	if len(edges) == 0 {
		return nil, fmt.Errorf("imagecheck: %w", ErrNothingSeen)
	}
	c := &checker{edges: edges, frame: frameOf(edges, o.Unit), reach: o.Reach, sampler: sampler{img, o.Unit}}
	if c.reach < 0.5 {
		c.reach = DefaultReach
	}
	c.groups = groupsOf(edges, c.frame)
	c.shared = sharedEdges(edges, c.frame)
	for _, g := range c.groups {
		c.half = max(c.half, g.middle.length())
	}
	c.half = max(c.half, 10)
	all, err := c.observe(ctx)
	if err != nil {
		return nil, err
	}
	for i := range all {
		c.pixel = max(c.pixel, all[i].pixel)
	}
	if c.pixel == 0 {
		return nil, fmt.Errorf("imagecheck: %w", ErrNothingSeen)
	}
	return c.conclude(ctx, all, o)
}

// conclude fits the geometries of the image and judges them.
func (c *checker) conclude(ctx context.Context, all []observation, o Options) (*Result, error) {
	plain, lean, err := c.geometries(all)
	if err != nil {
		return nil, err
	}
	final := plain
	if lean.counts() {
		// Once more, where the edges lie by that: only now it is known how they lean.
		if all, err = c.measureAll(ctx, c.coursesBy(lean.field)); err != nil {
			return nil, err
		}
		if plain, lean, err = c.geometries(all); err != nil {
			return nil, err
		}
		if final = plain; lean.counts() {
			final = lean.field
		}
	}
	c.adopt(all, final)
	c.findWithin(all, final)
	r := &Result{Unit: o.Unit, PixelM: Metres(c.pixel), Reach: Metres(c.reach), SameCloud: o.SameCloud, Lean: lean.Lean}
	if r.SameCloud == "" {
		r.SameCloud = Unknown
	}
	c.fillBlock(r, final)
	c.fillEdges(r, all, final)
	c.fillBuildings(r, all, final, lean)
	return r, nil
}

// geometries fits an image without lean, and one with.
func (c *checker) geometries(all []observation) (*adjustment, leanFit, error) {
	use := [unknowns]bool{uEast: true, uNorth: true, uBias: true}
	plain := c.adjust(all, use, 0)
	if plain != nil && plain.groups >= fewGroups {
		use[uRotation], use[uScale] = true, true
		plain = c.adjust(all, use, 0)
	}
	if plain == nil || plain.edges == 0 {
		return nil, leanFit{}, fmt.Errorf("imagecheck: %w", ErrNothingSeen)
	}
	c.adopt(all, plain)
	c.findWithin(all, plain)
	return plain, c.judgeLean(all, plain, use), nil
}

// coursesBy returns where a fit has the edges of each building.
func (c *checker) coursesBy(a *adjustment) []course {
	out := make([]course, len(c.groups))
	for k := range c.groups {
		g := &c.groups[k]
		at := func(height float64) vec {
			east, north := observation{middle: g.middle, normal: vec{1, 0}}, observation{middle: g.middle, normal: vec{0, 1}}
			return vec{a.predicted(a.row(&east, height, false)), a.predicted(a.row(&north, height, false))}
		}
		out[k] = course{shift: at(g.height), height: g.height}
		if !math.IsNaN(g.height) {
			out[k].lean = at(g.height + 0.5).sub(at(g.height - 0.5))
		}
	}
	return out
}

// adopt chooses the steps as a fit has them, or as it has them roughly where those
// of a building agree much better with each other: it may lie elsewhere.
func (c *checker) adopt(all []observation, a *adjustment) {
	for k := range c.groups {
		own := c.groups[k].of(all)
		tight := c.take(own, a, max(c.pixel/2, 2*a.scatter))
		kept := append([]observation(nil), own...)
		const clearly = 9 // squared errors
		if loose := c.take(own, a, 2*c.pixel); loose > tight-clearly {
			copy(own, kept)
		}
	}
}

// take chooses the steps of a building within a tolerance, and returns how far they
// are from lying as a plan does, in squared standard errors.
func (c *checker) take(own []observation, a *adjustment, tolerance float64) float64 {
	for i := range own {
		o := &own[i]
		near := o.expected
		if by := a.predicted(a.row(o, c.heightOf(o), c.edges[o.edge].Outline)); math.Abs(by-near) <= 3*o.pixel {
			near = by // else the building lies elsewhere: what is there is its edge
		}
		o.choose(near, tolerance)
	}
	return c.disorder(own, a)
}

// disorder returns the sum of squared residuals of a building's edges about its own
// fit, each in the scatter of edges and counted up to a limit.
func (c *checker) disorder(own []observation, a *adjustment) float64 {
	const most = 9
	s := c.single(own, a, nil)
	if !s.ok {
		return math.Inf(1)
	}
	sum := 0.0
	for i := range own {
		if o := &own[i]; o.seen {
			r := (c.beside(a, o) - s.at(c, o)) / math.Hypot(o.sigma, 0.2*c.pixel)
			sum += min(r*r, most)
		}
	}
	return sum
}

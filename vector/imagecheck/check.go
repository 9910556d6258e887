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
	return c.conclude(all, o)
}

// conclude fits the geometries of the image and judges them.
func (c *checker) conclude(all []observation, o Options) (*Result, error) {
	use := [unknowns]bool{uEast: true, uNorth: true, uBias: true}
	plain := c.adjust(all, use, 0)
	if plain == nil || plain.edges == 0 {
		return nil, fmt.Errorf("imagecheck: %w", ErrNothingSeen)
	}
	if plain.groups >= fewGroups {
		use[uRotation], use[uScale] = true, true
		plain = c.adjust(all, use, 0)
	}
	c.adopt(all, plain)
	c.findWithin(all, plain)
	lean := c.judgeLean(all, plain, use)
	final := plain
	if lean.field != nil && lean.Verdict == ReliefDisplacement && lean.fieldCounts {
		final = lean.field
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

// adopt chooses the steps as a fit has them.
func (c *checker) adopt(all []observation, a *adjustment) {
	for i := range all {
		o := &all[i]
		row := a.row(o, c.heightOf(o), c.edges[o.edge].Outline)
		near := a.predicted(row)
		if math.Abs(near-o.expected) > 3*o.pixel {
			near = o.expected // a building that lies elsewhere: what is there is its edge
		}
		o.choose(near, 2*o.pixel)
	}
}

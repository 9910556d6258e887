package imagecheck

import (
	"context"
	"fmt"
	"math"
	"slices"

	"github.com/paulmach/orb"
)

// An observation is one edge with the steps of the image near it.
type observation struct {
	edge, building int
	normal, middle vec // middle about that of the block, in metres
	length         float64
	candidates     []candidate
	expected       float64 // offset at which the steps were looked for
	pixel          float64
	blur           float64 // pixels
	outside        float64 // brightness beyond the edge
	offset, sigma  float64 // of the step that was chosen
	seen           bool
}

// A group is the edges of one building.
type group struct {
	name   string
	edges  []int
	first  int // its observations are those from first on, one an edge
	middle vec
	height float64 // mean of the edges, by length; NaN when unknown
}

// A frame ties metres about the middle of the block to the CRS.
type frame struct {
	middle orb.Point
	unit   float64
}

func (f frame) local(p orb.Point) vec {
	return vec{(p[0] - f.middle[0]) * f.unit, (p[1] - f.middle[1]) * f.unit}
}

// place returns the CRS coordinates of a local position.
func (f frame) place(v vec) orb.Point {
	return orb.Point{f.middle[0] + v.x/f.unit, f.middle[1] + v.y/f.unit}
}

func frameOf(edges []Edge, unit float64) frame {
	b := edges[0].From.Bound()
	for _, e := range edges {
		b = b.Extend(e.From).Extend(e.To)
	}
	return frame{b.Center(), unit}
}

// groupsOf gathers the edges of each building, in order of appearance.
func groupsOf(edges []Edge, f frame) []group {
	var groups []group
	at := map[string]int{}
	for i, e := range edges {
		k, known := at[e.Building]
		if !known {
			k = len(groups)
			at[e.Building] = k
			groups = append(groups, group{name: e.Building})
		}
		groups[k].edges = append(groups[k].edges, i)
	}
	first := 0
	for k := range groups {
		g := &groups[k]
		g.first, first = first, first+len(g.edges)
		total, high, heights := 0.0, 0.0, 0.0
		for _, i := range g.edges {
			a, b := f.local(edges[i].From), f.local(edges[i].To)
			l := b.sub(a).length()
			g.middle = g.middle.add(a.add(b).mul(l / 2))
			total += l
			if h := edges[i].meanHeight(); !math.IsNaN(h) {
				high, heights = high+h*l, heights+l
			}
		}
		g.middle = g.middle.mul(1 / total)
		g.height = high / heights // NaN where none is known
	}
	return groups
}

// of returns the building's part of all observations.
func (g *group) of(all []observation) []observation { return all[g.first : g.first+len(g.edges)] }

// normalOf returns the direction to the right of an edge, that is outward.
func normalOf(e *Edge) vec {
	d := vec{e.To[0] - e.From[0], e.To[1] - e.From[1]}
	return vec{d.y, -d.x}.mul(1 / d.length())
}

// observe finds the steps near each edge: first roughly, building by building
// within the reach, then each by itself within a few pixels.
func (c *checker) observe(ctx context.Context) ([]observation, error) {
	leads := make([]lead, len(c.groups))
	tolerance := 0.0
	for k := range c.groups {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		g := &c.groups[k]
		traces, err := c.traces(g)
		if err != nil {
			return nil, fmt.Errorf("imagecheck: %s: %w", g.name, err)
		}
		leads[k] = lead{middle: g.middle, height: g.height}
		if len(traces) == 0 {
			continue
		}
		pixel := traces[0].pixel
		tolerance = max(tolerance, 4*pixel)
		const crests = 6
		leads[k].crests = fieldOf(traces, int(c.reach/pixel), pixel).crests(crests)
	}
	if tolerance == 0 {
		return nil, nil
	}
	courses := leadsOn(leads, tolerance, c.reach)
	if err := c.findBlur(courses); err != nil {
		return nil, err
	}
	return c.measureAll(ctx, courses)
}

// measureAll finds the steps near each edge, which is looked for where the course
// of its building says.
func (c *checker) measureAll(ctx context.Context, courses []course) ([]observation, error) {
	var all []observation
	for k, where := range courses {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		for _, i := range c.groups[k].edges {
			o, err := c.measure(i, k, where)
			if err != nil {
				return nil, fmt.Errorf("imagecheck: %s: %w", c.groups[k].name, err)
			}
			all = append(all, o)
		}
	}
	return all, nil
}

// traces returns the evidence of those edges of a building that can be measured.
func (c *checker) traces(g *group) ([]trace, error) {
	var all []trace
	for _, i := range g.edges {
		e := &c.edges[i]
		if c.shared[i] {
			continue
		}
		s, ok, err := c.sampler.strip(e, course{}, c.reach, window)
		if err != nil {
			return nil, err
		}
		if !ok {
			continue
		}
		const most = 10 // metres: a long side is not more than one witness
		all = append(all, trace{
			normal: normalOf(e), weight: min(float64(s.rows)*s.pixel, most),
			evidence: s.evidence(), reach: s.reach, pixel: s.pixel,
		})
	}
	return all, nil
}

// findBlur learns how blurred edges are in this image from some of them: the
// sharper ones of those with a single step. Two steps that lie within two
// pixels, a roof and its gutter, are only told apart by it.
func (c *checker) findBlur(courses []course) error {
	const enough = 300
	c.blur = anyBlur()
	stride := 1 + len(c.edges)/enough
	var widths []float64
	for k, where := range courses {
		for _, i := range c.groups[k].edges {
			if i%stride != 0 {
				continue
			}
			o, err := c.measure(i, k, where)
			if err != nil {
				return fmt.Errorf("imagecheck: %s: %w", c.groups[k].name, err)
			}
			if len(o.candidates) == 1 {
				widths = append(widths, o.blur)
			}
		}
	}
	if slices.Sort(widths); len(widths) >= 5 {
		c.blur = blur{widths[len(widths)/4], 0.04}
	}
	return nil
}

func (c *checker) measure(i, building int, where course) (observation, error) {
	e := &c.edges[i]
	a, b := c.frame.local(e.From), c.frame.local(e.To)
	o := observation{
		edge: i, building: building, normal: normalOf(e), middle: a.add(b).mul(0.5), length: b.sub(a).length(),
	}
	o.expected = o.normal.dot(where.by(e, 0.5))
	if c.shared[i] {
		return o, nil
	}
	s, ok, err := c.sampler.strip(e, where, 0, window)
	if err != nil || !ok {
		return o, err
	}
	o.pixel, o.expected = s.pixel, s.centre
	o.candidates, o.blur = s.candidates(c.blur)
	o.outside = s.brightness()
	return o, nil
}

// brightness returns the mean of all channels beyond the edge.
func (s *strip) brightness() float64 {
	sum, n := 0.0, 0.0
	for _, v := range s.side(s.reach+2, s.width) {
		for _, x := range v {
			sum, n = sum+x, n+1
		}
	}
	return sum / max(n, 1)
}

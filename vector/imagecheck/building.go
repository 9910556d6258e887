package imagecheck

import (
	"math"
)

// A single is the fit of one building by itself.
type single struct {
	ok bool
	// by is what it lies beside the block's fit: east, north, size, rotation.
	by    [4]float64
	cov   [4][4]float64
	total [4]float64 // beside its plan
	edges int
	rms   float64 // of its edges about its own fit
	chi   float64 // of the shift beside the block, with two degrees
}

// Unknowns of a building; east and north as in the block.
const (
	bSize     = 2
	bRotation = 3
)

// single fits shift, size and rotation of one building to its edges. skip leaves
// edges out; nil for none. ok is false when the edges do not face two ways.
func (c *checker) single(all []observation, a *adjustment, k int, skip func(*observation) bool) single {
	const (
		sizePrior = 0.3  // metres
		turnPrior = 0.01 // radians
	)
	g := &c.groups[k]
	var s single
	reach := 1.0
	own := g.of(all)
	for i := range own {
		reach = max(reach, own[i].middle.sub(g.middle).length())
	}
	sys := newSystem(4)
	type entry struct {
		row  [4]float64
		y, w float64
	}
	var list []entry
	for i := range own {
		o := &own[i]
		if !o.seen || skip != nil && skip(o) {
			continue
		}
		e := &c.edges[o.edge]
		d := o.middle.sub(g.middle)
		row := [4]float64{o.normal.x, o.normal.y, 0, o.normal.dot(vec{-d.y, d.x}) / reach}
		if e.Outline {
			row[bSize] = 1
		}
		sigma := math.Hypot(o.sigma, c.within)
		list = append(list, entry{row, o.offset - a.predicted(a.row(o, c.heightOf(o), e.Outline)), 1 / (sigma * sigma)})
	}
	s.edges = len(list)
	if len(list) < 2 {
		return s
	}
	scale := make([]float64, len(list))
	for i := range scale {
		scale[i] = 1
	}
	for range 8 {
		sys.clear()
		for i, e := range list {
			sys.add(e.row[:], e.y, e.w*scale[i])
		}
		if !twoWays(sys) {
			return s
		}
		sys.addPrior(bSize, 1/(sizePrior*sizePrior))
		sys.addPrior(bRotation, 1/(turnPrior*turnPrior*reach*reach))
		x := sys.solve()
		if x == nil {
			return s
		}
		copy(s.by[:], x)
		sum, weight := 0.0, 0.0
		for i, e := range list {
			r := e.y
			for j, v := range e.row {
				r -= v * x[j]
			}
			sum, weight = sum+e.w*scale[i]*r*r, weight+e.w*scale[i]
			if t := math.Abs(r) * math.Sqrt(e.w); len(list) > 4 && t > 2.5 {
				scale[i] = 2.5 / t // Huber's weights: one edge that is wrong does not move the building
			} else {
				scale[i] = 1
			}
		}
		s.rms = math.Sqrt(sum / weight)
	}
	inverse := sys.inverse()
	for i := range 4 {
		for j := range 4 {
			s.cov[i][j] = inverse[i*4+j]
		}
	}
	s.by[bRotation] /= reach
	for i := range 4 {
		s.cov[i][bRotation] /= reach
		s.cov[bRotation][i] /= reach
	}
	s.ok = true
	s.total = s.by
	s.chi = s.shiftChi()
	return s
}

// twoWays reports whether the edges determine a shift in both directions.
func twoWays(s *system) bool {
	xx, yy, xy := s.mat[0], s.mat[s.n+1], s.mat[1]
	det := xx*yy - xy*xy
	return det > 0.02*(xx+yy)*(xx+yy)
}

func (s *single) shiftChi() float64 {
	a, b, c := s.cov[0][0], s.cov[0][1], s.cov[1][1]
	det := a*c - b*b
	if !(det > 0) {
		return 0
	}
	x, y := s.by[0], s.by[1]
	return (c*x*x - 2*b*x*y + a*y*y) / det
}

// shift of the building beside the block, in metres.
func (s *single) shift() vec { return vec{s.by[0], s.by[1]} }

// findWithin estimates the scatter of the edges of a building about its own fit:
// the root mean square, in which no edge counts for more than a pixel.
func (c *checker) findWithin(all []observation, a *adjustment) {
	c.within = 0.3 * c.pixel // what an edge is usually good for
	sum, freedom := 0.0, 0.0
	for k := range c.groups {
		s := c.single(all, a, k, nil)
		if !s.ok || s.edges < 5 {
			continue
		}
		own := c.groups[k].of(all)
		for i := range own {
			if o := &own[i]; o.seen {
				r := min(math.Abs(c.beside(a, o)-s.at(c, o)), c.pixel)
				sum += r * r
			}
		}
		freedom += float64(s.edges) - 3
	}
	if freedom >= 10 {
		c.within = max(math.Sqrt(sum/freedom), 0.05*c.pixel)
	}
}

// beside returns an edge's offset less what a fit of the block gives.
func (c *checker) beside(a *adjustment, o *observation) float64 {
	return o.offset - a.predicted(a.row(o, c.heightOf(o), c.edges[o.edge].Outline))
}

// at returns the offset that the building's own fit gives an edge, beside the
// block's.
func (s *single) at(c *checker, o *observation) float64 {
	d := o.middle.sub(c.groups[o.building].middle)
	v := o.normal.dot(s.shift()) + s.by[bRotation]*o.normal.dot(vec{-d.y, d.x})
	if c.edges[o.edge].Outline {
		v += s.by[bSize]
	}
	return v
}

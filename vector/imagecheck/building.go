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
	edges int
	rms   float64 // of its edges about its own fit
	chi   float64 // of the shift beside the block, with two degrees
}

// Unknowns of a building; east and north as in the block.
const (
	bSize     = 2
	bRotation = 3
)

// A witness is what one edge says of its building.
type witness struct {
	row    [4]float64
	offset float64 // beside the block's fit
	weight float64
}

// single fits shift, size and rotation of one building to its edges. skip leaves
// edges out; nil for none. ok is false when the edges do not face two ways.
func (c *checker) single(own []observation, a *adjustment, skip func(*observation) bool) single {
	reach := 1.0
	if len(own) > 0 {
		middle := c.groups[own[0].building].middle
		for i := range own {
			reach = max(reach, own[i].middle.sub(middle).length())
		}
	}
	list := c.witnesses(own, a, reach, skip)
	s := single{edges: len(list)}
	sys := s.fit(list, reach)
	if sys == nil {
		return s
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
	s.chi = s.shiftChi()
	return s
}

// witnesses returns what the edges say that are seen; rotation is a length at reach.
func (c *checker) witnesses(own []observation, a *adjustment, reach float64, skip func(*observation) bool) []witness {
	var list []witness
	for i := range own {
		o := &own[i]
		if !o.seen || skip != nil && skip(o) {
			continue
		}
		d := o.middle.sub(c.groups[o.building].middle)
		row := [4]float64{o.normal.x, o.normal.y, 0, o.normal.dot(vec{-d.y, d.x}) / reach}
		if c.edges[o.edge].Outline {
			row[bSize] = 1
		}
		sigma := math.Hypot(o.sigma, c.within)
		list = append(list, witness{row, c.beside(a, o), 1 / (sigma * sigma)})
	}
	return list
}

// fit solves for the building's unknowns and returns the normal equations; nil when
// the edges do not determine them.
func (s *single) fit(list []witness, reach float64) *system {
	const (
		sizePrior = 0.3  // metres
		turnPrior = 0.01 // radians
		rounds    = 8
	)
	if len(list) < 2 {
		return nil
	}
	sys := newSystem(4)
	scale := make([]float64, len(list))
	for i := range scale {
		scale[i] = 1
	}
	for range rounds {
		sys.clear()
		for i, e := range list {
			sys.add(e.row[:], e.offset, e.weight*scale[i])
		}
		if !twoWays(sys) {
			return nil
		}
		sys.addPrior(bSize, 1/(sizePrior*sizePrior))
		sys.addPrior(bRotation, 1/(turnPrior*turnPrior*reach*reach))
		x := sys.solve()
		if x == nil {
			return nil
		}
		copy(s.by[:], x)
		s.rms = reweighed(list, x, scale)
	}
	return sys
}

// reweighed returns the weighted root mean square of the residuals, and fills in
// Huber's weights, with which one edge that is wrong does not move a building that
// has more than are needed.
func reweighed(list []witness, x, scale []float64) float64 {
	const limit, needed = 2.5, 4
	sum, weight := 0.0, 0.0
	for i, e := range list {
		r := e.offset
		for j, v := range e.row {
			r -= v * x[j]
		}
		sum, weight = sum+e.weight*scale[i]*r*r, weight+e.weight*scale[i]
		scale[i] = 1
		if t := math.Abs(r) * math.Sqrt(e.weight); len(list) > needed && t > limit {
			scale[i] = limit / t
		}
	}
	return math.Sqrt(sum / weight)
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
		own := c.groups[k].of(all)
		s := c.single(own, a, nil)
		if !s.ok || s.edges < 4 { // shift and size take three
			continue
		}
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

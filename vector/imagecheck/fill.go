package imagecheck

import (
	"math"
	"slices"
)

func (c *checker) fillBlock(r *Result, a *adjustment) {
	nan := Number(math.NaN())
	r.Centre = c.frame.middle
	r.East, r.SigmaEast = Metres(a.x[uEast]), Metres(a.sigma(uEast))
	r.North, r.SigmaNorth = Metres(a.x[uNorth]), Metres(a.sigma(uNorth))
	r.Size, r.SigmaSize = nan, nan
	if slices.ContainsFunc(c.edges, func(e Edge) bool { return e.Outline }) {
		r.Size, r.SigmaSize = Metres(a.x[uBias]), Metres(a.sigma(uBias))
	}
	r.Rotation, r.SigmaRotation, r.Scale, r.SigmaScale = nan, nan, nan, nan
	if a.use[uRotation] {
		r.Rotation, r.SigmaRotation = Number(a.x[uRotation]/a.half), Number(a.sigma(uRotation)/a.half)
		r.Scale, r.SigmaScale = Number(a.x[uScale]/a.half), Number(a.sigma(uScale)/a.half)
	}
	r.Residual = Metres(a.residual)
	r.LeastShift = Metres(seenFactor * max(a.sigma(uEast), a.sigma(uNorth)))
	r.EdgesUsed, r.BuildingsUsed = a.edges, a.groups
}

func (c *checker) fillEdges(r *Result, all []observation, a *adjustment) {
	dark := c.darkness(all)
	for i := range all {
		o := &all[i]
		m := Measured{Edge: c.edges[o.edge], Offset: Metres(math.NaN()), Sigma: Metres(math.NaN()), Shaded: o.outside < dark}
		m.Expected, m.Shared = Metres(a.predicted(a.row(o, c.heightOf(o), m.Outline))), c.shared[o.edge]
		if o.seen {
			m.Offset, m.Sigma = Metres(o.offset), Metres(o.sigma)
		}
		r.Edges = append(r.Edges, m)
	}
}

// darkness returns the brightness below which it is dark beyond an edge.
func (c *checker) darkness(all []observation) float64 {
	var v []float64
	for i := range all {
		if all[i].outside > 0 {
			v = append(v, all[i].outside)
		}
	}
	slices.Sort(v)
	if len(v) == 0 {
		return 0
	}
	return 0.6 * v[len(v)*3/4] // of the sunlit ones
}

func (c *checker) fillBuildings(r *Result, all []observation, a *adjustment, lean leanFit) {
	singles := make([]single, len(c.groups))
	for k := range c.groups {
		singles[k] = c.single(c.groups[k].of(all), a, nil)
	}
	for k := range c.groups {
		g, s := &c.groups[k], &singles[k]
		nan := Metres(math.NaN())
		b := Building{
			ID: g.name, At: c.frame.place(g.middle), Height: Metres(g.height), Seen: s.edges, Edges: len(g.edges), Agreement: NotSeen, WorstEdge: -1,
			East: nan, North: nan, SigmaEast: nan, SigmaNorth: nan, BesideEast: nan, BesideNorth: nan, Rotation: nan,
			SigmaRotation: nan, Size: nan, SigmaSize: nan, Scale: nan, Residual: nan,
		}
		if s.ok {
			c.fillBuilding(&b, a, k, s)
			b.Agreement, b.WorstEdge = c.judge(all, a, k, singles, lean)
		}
		r.Buildings = append(r.Buildings, b)
	}
}

func (c *checker) fillBuilding(b *Building, a *adjustment, k int, s *single) {
	at := observation{middle: c.groups[k].middle, normal: vec{1, 0}}
	east := a.predicted(a.row(&at, c.groups[k].height, false))
	at.normal = vec{0, 1}
	north := a.predicted(a.row(&at, c.groups[k].height, false))
	b.BesideEast, b.BesideNorth = Metres(s.by[uEast]), Metres(s.by[uNorth])
	b.East, b.North = Metres(east+s.by[uEast]), Metres(north+s.by[uNorth])
	b.SigmaEast, b.SigmaNorth = Metres(math.Sqrt(s.cov[0][0])), Metres(math.Sqrt(s.cov[1][1]))
	b.Rotation, b.SigmaRotation = Number(s.by[bRotation]+a.x[uRotation]/a.half), Number(math.Sqrt(s.cov[bRotation][bRotation]))
	b.Residual = Metres(s.rms)
	if outline, depth := c.depth(k); outline {
		b.Size, b.SigmaSize = Metres(a.x[uBias]+s.by[bSize]), Metres(math.Sqrt(s.cov[bSize][bSize]))
		b.Scale = b.Size / Number(depth)
	}
}

// depth returns whether a building is an outline, and the mean distance of its
// edges from its middle, weighted by length.
func (c *checker) depth(k int) (bool, float64) {
	g := &c.groups[k]
	sum, total, outline := 0.0, 0.0, false
	for _, i := range g.edges {
		e := &c.edges[i]
		a, b := c.frame.local(e.From), c.frame.local(e.To)
		l := b.sub(a).length()
		sum += l * normalOf(e).dot(a.add(b).mul(0.5).sub(g.middle))
		total += l
		outline = outline || e.Outline
	}
	return outline, sum / total
}

// Limits of agreement: the shift of a building that is out of line is improbable
// (one in ten thousand, of χ² with two degrees), and large enough to matter.
const (
	improbable = 18.4
	worthwhile = 1 // pixels
)

// judge says whether a building agrees, and whose fault it is when not.
func (c *checker) judge(all []observation, a *adjustment, k int, singles []single, lean leanFit) (Agreement, int) {
	s := &singles[k]
	limit := max(worthwhile*c.pixel, 0.05)
	off := s.isOff(limit)
	alone := -1
	if off {
		alone = c.alone(all, a, k, limit)
	}
	size := math.Abs(s.by[bSize]) > max(5*math.Sqrt(s.cov[bSize][bSize]), 2*limit)
	worst := c.worst(all, a, k, s)
	switch {
	case !off && !size && worst < 0:
		return Agrees, -1
	case off && lean.Verdict == ReliefDisplacement && s.shift().length() < 3*lean.reach()*c.groups[k].height:
		return ImageLean, -1
	case c.agreesInLight(all, a, k, limit):
		return ImageShadow, worst
	case off && alone < 0 && c.sharedByNeighbours(k, singles):
		return ImageSeam, -1
	case worst >= 0:
		return FootprintEdge, worst
	case alone >= 0:
		return FootprintEdge, alone
	case off:
		return FootprintShift, -1
	}
	return FootprintSize, -1
}

// isOff reports whether a building is out of line with the block.
func (s *single) isOff(limit float64) bool {
	return s.chi > improbable && s.shift().length() > limit
}

// alone returns the edge on which a building's being off rests: without it the
// building is in line, or undetermined; −1 where it rests on more than one.
func (c *checker) alone(all []observation, a *adjustment, k int, limit float64) int {
	own := c.groups[k].of(all)
	worst, top := -1, 0.0
	for i := range own {
		o := &own[i]
		if !o.seen {
			continue
		}
		rest := c.single(c.groups[k].of(all), a, func(p *observation) bool { return p == o })
		if r := math.Abs(c.beside(a, o)); (!rest.ok || !rest.isOff(limit)) && r > top {
			worst, top = i, r
		}
	}
	return worst
}

// reach returns the lean that buildings beside the fit may have.
func (f *leanFit) reach() float64 { return max(f.slopes, LeanLimit) }

// worst returns the edge that is far out of line with the rest of its building;
// −1 for none.
func (c *checker) worst(all []observation, a *adjustment, k int, s *single) int {
	const far = 6 // standard errors
	worst, top := -1, float64(far)
	if s.edges < 5 {
		return worst
	}
	own := c.groups[k].of(all)
	for i := range own {
		o := &own[i]
		if !o.seen {
			continue
		}
		rest := c.single(c.groups[k].of(all), a, func(p *observation) bool { return p == o })
		if !rest.ok {
			continue
		}
		e := &c.edges[o.edge]
		r := o.offset - a.predicted(a.row(o, c.heightOf(o), e.Outline)) - o.normal.dot(rest.shift())
		if e.Outline {
			r -= rest.by[bSize]
		}
		sigma := math.Sqrt(o.sigma*o.sigma + c.within*c.within + rest.cov[0][0] + rest.cov[1][1])
		if t := math.Abs(r) / sigma; t > top && math.Abs(r) > max(c.pixel, 0.05) {
			worst, top = slices.Index(c.groups[k].edges, o.edge), t
		}
	}
	return worst
}

// agreesInLight reports whether the building agrees by its sunlit edges.
func (c *checker) agreesInLight(all []observation, a *adjustment, k int, limit float64) bool {
	dark := c.darkness(all)
	shaded := 0
	s := c.single(c.groups[k].of(all), a, func(o *observation) bool {
		if o.outside < dark {
			shaded++
			return true
		}
		return false
	})
	// Two edges that meet say little of the place while size and rotation are
	// open: the sunlit ones must say themselves that the building is in line.
	known := max(s.cov[0][0], s.cov[1][1], s.cov[bSize][bSize]) < limit*limit/4
	return shaded > 0 && s.ok && known && !s.isOff(limit) && math.Abs(s.by[bSize]) < limit && s.rms < c.within+limit/2
}

// sharedByNeighbours reports whether the nearest building that is off, within
// some widths of a house, is off in the same way.
func (c *checker) sharedByNeighbours(k int, singles []single) bool {
	const near = 60 // metres
	alike, others := 0, 0
	for i := range singles {
		if i == k || !singles[i].ok || c.groups[i].middle.sub(c.groups[k].middle).length() > near {
			continue
		}
		d := singles[i].shift().sub(singles[k].shift()).length()
		sigma := math.Sqrt(singles[i].cov[0][0] + singles[i].cov[1][1] + singles[k].cov[0][0] + singles[k].cov[1][1])
		if singles[i].chi > improbable && d < max(3*sigma, 0.3*singles[k].shift().length(), c.pixel) {
			alike++
		} else {
			others++
		}
	}
	return alike >= 2 || alike == 1 && others == 0
}

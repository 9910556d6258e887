package extract

import (
	"cmp"
	"math"
	"slices"

	"quoin/extract/outline"
)

// A plan is the outline of one building on its way to becoming a footprint,
// in local metres.
type plan struct{ rings []outline.Ring }

// parallelCos bounds the angle between the two outlines of a party wall, 4
// degrees: directions of short edges are not known better.
var parallelCos = math.Cos(4 * math.Pi / 180)

// minShared is the shortest stretch of a wall that two buildings share, in
// metres.
const minShared = 0.5

// A side is one edge of one plan, as a line n·x = d with the roof on the
// side that n points away from.
type side struct {
	plan, ring, edge int
	ax, ay, bx, by   float64
	nx, ny, d        float64
	weight           float64
	round            bool // a chord of an arc
}

// shareWalls moves edges of neighbouring plans that lie on the same line,
// closer than gate, onto one line each: the mean of the edges, weighted by
// their information. A plan that this would make invalid keeps its edges.
//
// Plans are looked at in the order given, so that the result does not depend
// on anything else.
func shareWalls(plans []*plan, gate float64) {
	sides := sidesOf(plans)
	groups := newUnion(len(sides))
	for i := range sides {
		for j := i + 1; j < len(sides); j++ {
			if sides[i].plan != sides[j].plan && sides[i].meets(&sides[j], gate) {
				groups.join(i, j)
			}
		}
	}
	moved := make(map[int]bool)
	for _, members := range groups.sets() {
		if len(members) > 1 {
			unite(sides, members)
			for _, m := range members {
				moved[sides[m].plan] = true
			}
		}
	}
	for p := range plans {
		if moved[p] {
			plans[p].rebuild(sides, p)
		}
	}
}

// mostTied bounds the walls that are adjusted together: the work grows with the
// cube of their number. Further ones are brought together by shareWalls only.
const mostTied = 300

// joinWalls adjusts outlines that share walls together, each wall as one
// unknown of both.
func joinWalls(drawn []*drawing, gate float64) {
	var fitted []*drawing
	for _, d := range drawn {
		if d.failed == nil && len(d.adjusted.Arcs) == 0 {
			fitted = append(fitted, d)
		}
	}
	for _, group := range neighbourhoods(fitted, gate) {
		plans, results := make([]*plan, len(group)), make([]*outline.Result, len(group))
		for i, d := range group {
			plans[i], results[i] = &fitted[d].plan, fitted[d].adjusted
		}
		if !outline.Join(results, tiesOf(sidesOf(plans), gate), maxMove) {
			continue
		}
		for _, d := range group {
			d := fitted[d]
			d.plan, d.areaSigma = plan{rings: d.adjusted.Rings}, d.adjusted.AreaSigma
		}
	}
}

// tiesOf lists the walls that sides of different plans are the faces of.
func tiesOf(sides []side, gate float64) []outline.Tie {
	var ties []outline.Tie
	groups := newUnion(len(sides))
	for i := range sides {
		for j := i + 1; j < len(sides) && len(ties) < mostTied; j++ {
			s, o := &sides[i], &sides[j]
			if s.plan != o.plan && s.meets(o, gate) && groups.root(i) != groups.root(j) {
				groups.join(i, j)
				ties = append(ties, outline.Tie{A: s.plan, RingA: s.ring, EdgeA: s.edge, B: o.plan, RingB: o.ring, EdgeB: o.edge})
			}
		}
	}
	return ties
}

func sidesOf(plans []*plan) []side {
	var sides []side
	for p, pl := range plans {
		for r, ring := range pl.rings {
			for e, edge := range ring.Edges {
				a, b := ring.Vertices[e], ring.Vertices[(e+1)%len(ring.Vertices)]
				s := side{plan: p, ring: r, edge: e, ax: a.X, ay: a.Y, bx: b.X, by: b.Y, round: edge.Arc > 0}
				s.weight = 1 / max(edge.Sigma*edge.Sigma, 1e-8)
				s.line(a.X, a.Y, b.X, b.Y)
				sides = append(sides, s)
			}
		}
	}
	return sides
}

// line sets the side's line through two places; the roof is on the left.
func (s *side) line(ax, ay, bx, by float64) {
	length := math.Hypot(bx-ax, by-ay)
	s.nx, s.ny = (by-ay)/length, -(bx-ax)/length
	s.d = s.nx*(ax+bx)/2 + s.ny*(ay+by)/2
}

// meets reports whether two sides are the two faces of one wall.
func (s *side) meets(o *side, gate float64) bool {
	if s.round || o.round || s.nx*o.nx+s.ny*o.ny > -parallelCos {
		return false
	}
	tx, ty := -s.ny, s.nx
	lo, hi := tx*s.ax+ty*s.ay, tx*s.bx+ty*s.by
	a, b := tx*o.bx+ty*o.by, tx*o.ax+ty*o.ay // o runs the other way
	from, to := max(lo, a), min(hi, b)
	if to-from < min(minShared, (hi-lo)/2, (b-a)/2) || to <= from {
		return false
	}
	return s.gap(o, from) < gate && s.gap(o, to) < gate
}

// gap is the distance between the two lines at a place along s.
func (s *side) gap(o *side, along float64) float64 {
	x, y := s.nx*s.d-s.ny*along, s.ny*s.d+s.nx*along
	return math.Abs(o.nx*x + o.ny*y - o.d)
}

// unite gives all members the line that fits them best: the weighted
// orthogonal least-squares line through their ends.
func unite(sides []side, members []int) {
	var w, mx, my float64
	for _, m := range members {
		s := &sides[m]
		w += s.weight
		mx += s.weight * (s.ax + s.bx) / 2
		my += s.weight * (s.ay + s.by) / 2
	}
	mx, my = mx/w, my/w
	var xx, xy, yy float64
	for _, m := range members {
		s := &sides[m]
		for _, end := range [2][2]float64{{s.ax - mx, s.ay - my}, {s.bx - mx, s.by - my}} {
			xx += s.weight * end[0] * end[0]
			xy += s.weight * end[0] * end[1]
			yy += s.weight * end[1] * end[1]
		}
	}
	tx, ty := math.Cos(math.Atan2(2*xy, xx-yy)/2), math.Sin(math.Atan2(2*xy, xx-yy)/2)
	for _, m := range members {
		s := &sides[m]
		sign := 1.0
		if tx*(s.bx-s.ax)+ty*(s.by-s.ay) < 0 {
			sign = -1
		}
		s.nx, s.ny = sign*ty, -sign*tx
		s.d = s.nx*mx + s.ny*my
	}
}

// rebuild lays the plan's vertices where its moved lines now meet.
func (p *plan) rebuild(sides []side, number int) {
	rings := make([]outline.Ring, len(p.rings))
	for r, ring := range p.rings {
		rings[r] = ring
		rings[r].Vertices = slices.Clone(ring.Vertices)
	}
	first, _ := slices.BinarySearchFunc(sides, number, func(s side, n int) int { return cmp.Compare(s.plan, n) })
	for i := first; i < len(sides) && sides[i].plan == number; i++ {
		s := &sides[i]
		ring := rings[s.ring]
		n := len(ring.Edges)
		before := &sides[i-s.edge+(s.edge+n-1)%n]
		v := &ring.Vertices[s.edge]
		x, y, ok := before.cross(s)
		if !ok || math.Hypot(x-v.X, y-v.Y) > maxMove {
			return // nearly parallel: keep what the fit gave
		}
		v.X, v.Y = x, y
	}
	for r := range rings {
		if !simple(rings[r].Vertices) {
			return
		}
	}
	p.rings = rings
}

// maxMove is how far a vertex may move when a wall is shared, in metres.
const maxMove = 1.0

// cross returns where two lines meet; not ok when they are close to parallel.
func (s *side) cross(o *side) (x, y float64, ok bool) {
	det := s.nx*o.ny - s.ny*o.nx
	if math.Abs(det) < 0.1 {
		return 0, 0, false
	}
	return (s.d*o.ny - o.d*s.ny) / det, (o.d*s.nx - s.d*o.nx) / det, true
}

// simple reports whether a ring does not cross itself.
func simple(ring []outline.Vertex) bool {
	n := len(ring)
	for i := range n {
		a, b := ring[i], ring[(i+1)%n]
		for j := i + 2; j < n; j++ {
			if i == 0 && j == n-1 {
				continue
			}
			c, d := ring[j], ring[(j+1)%n]
			if turn(a, b, c)*turn(a, b, d) <= 0 && turn(c, d, a)*turn(c, d, b) <= 0 {
				return false
			}
		}
	}
	return true
}

// turn is positive where a, b, c turn left.
func turn(a, b, c outline.Vertex) float64 {
	return (b.X-a.X)*(c.Y-a.Y) - (b.Y-a.Y)*(c.X-a.X)
}

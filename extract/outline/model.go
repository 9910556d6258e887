package outline

import "math"

// An edge is a line n·x = offset, n the outward unit normal at the angle theta[family] + quarter·π/2. Its ends are where it meets
// its neighbours in the ring, so the edges alone make the polygon.
type edge struct {
	family  int
	quarter int
	offset  float64
	// pull is the outward force, 1/m, of what a one-sided edge does not show: see sides.go. It acts at (pullX, pullY).
	pull, pullX, pullY float64
	// id names the edge as it is: one that was fitted anew gets another, so that what was worked out about it is not used again.
	id int
}

// A model is a polygon of one or more rings, roof on the left of each edge. Edges of one family are parallel or at right angles.
type model struct {
	theta []float64
	rings [][]edge
}

func (m *model) clone() *model {
	c := &model{theta: append([]float64(nil), m.theta...), rings: make([][]edge, len(m.rings))}
	for i, r := range m.rings {
		c.rings[i] = append([]edge(nil), r...)
	}
	return c
}

// edgeCount is the number of edges of all rings.
func (m *model) edgeCount() int {
	n := 0
	for _, r := range m.rings {
		n += len(r)
	}
	return n
}

// parameters is the number of unknowns: directions, then offsets.
func (m *model) parameters() int { return len(m.theta) + m.edgeCount() }

// shift adds a step in all parameters to the model.
func (m *model) shift(step []float64) {
	n := len(m.theta)
	for g := range m.theta {
		m.theta[g] += step[g]
	}
	for _, r := range m.rings {
		for i := range r {
			r[i].offset += step[n]
			n++
		}
	}
}

// A span is an edge laid out in the plane: its normal (nx, ny), its tangent (-ny, nx) along which it runs with the roof on the left, and its ends
// as places and as coordinates along the tangent.
type span struct {
	nx, ny, d      float64
	ax, ay, bx, by float64
	ta, tb         float64
	family, param  int
	ring, index    int
	prev, next     int
	pull, px, py   float64
}

func (s *span) length() float64 { return s.tb - s.ta }

// inward is the signed distance of a place from the line of the edge, positive on the side of the roof.
func (s *span) inward(x, y float64) float64 { return s.d - s.nx*x - s.ny*y }

// along is the coordinate of a place along the edge.
func (s *span) along(x, y float64) float64 { return s.nx*y - s.ny*x }

// spans lays the model out with each edge moved outward by grow. Edges that are parallel to a neighbour have no meeting point; the
// result is then not finite, which every later test refuses.
func (m *model) spans(grow float64, dst []span) []span {
	return m.grown(func(float64, float64) float64 { return grow }, dst)
}

// grown lays the model out with each edge moved outward by what grow says for its normal.
func (m *model) grown(grow func(nx, ny float64) float64, dst []span) []span {
	dst = dst[:0]
	param := len(m.theta)
	for r, ring := range m.rings {
		base := len(dst)
		for i, e := range ring {
			nx, ny := normal(m.theta[e.family], e.quarter)
			dst = append(dst, span{
				nx: nx, ny: ny, d: e.offset + grow(nx, ny), family: e.family, param: param, ring: r, index: i,
				prev: base + (i+len(ring)-1)%len(ring), next: base + (i+1)%len(ring), pull: e.pull, px: e.pullX, py: e.pullY,
			})
			param++
		}
		for i := base; i < len(dst); i++ {
			a, b := &dst[i], &dst[dst[i].next]
			c := a.nx*b.ny - a.ny*b.nx
			x, y := (a.d*b.ny-b.d*a.ny)/c, (b.d*a.nx-a.d*b.nx)/c
			a.bx, a.by, b.ax, b.ay = x, y, x, y
			a.tb, b.ta = a.along(x, y), b.along(x, y)
		}
	}
	return dst
}

// normal is the unit vector at angle theta plus whole quarter turns, which are exact.
func normal(theta float64, quarter int) (x, y float64) {
	s, c := math.Sincos(theta)
	switch quarter & 3 {
	case 1:
		return -s, c
	case 2:
		return -c, -s
	case 3:
		return s, -c
	}
	return c, s
}

// winding counts how often the rings wind about a place: 1 on the roof, 0 off it. Only the edges listed are asked, all if list is nil
// (Sunday's test: each edge is a half-open interval in y, and its own line decides the side, so no place is lost between edges).
func winding(spans []span, list []int32, x, y float64) int {
	if list == nil {
		w := 0
		for i := range spans {
			w += spans[i].crossing(x, y)
		}
		return w
	}
	w := 0
	for _, i := range list {
		w += spans[i].crossing(x, y)
	}
	return w
}

func (s *span) crossing(x, y float64) int {
	if s.ay <= y {
		if s.by > y && s.inward(x, y) >= 0 {
			return 1
		}
	} else if s.by <= y && s.inward(x, y) < 0 {
		return -1
	}
	return 0
}

// area is the signed area of one ring of laid-out edges, by the shoelace about its first vertex.
func ringArea(spans []span) float64 {
	if len(spans) == 0 {
		return 0
	}
	ox, oy, twice := spans[0].ax, spans[0].ay, 0.0
	for i := range spans {
		s := &spans[i]
		twice += (s.ax-ox)*(s.by-oy) - (s.bx-ox)*(s.ay-oy)
	}
	return twice / 2
}

// ringSpans cuts the spans of one ring out of all.
func (m *model) ringSpans(spans []span, ring int) []span {
	base := 0
	for r := 0; r < ring; r++ {
		base += len(m.rings[r])
	}
	return spans[base : base+len(m.rings[ring])]
}

package outline

import "math"

// A Tie says that an edge of one outline and an edge of another are the two faces of one wall: one line, seen from both sides.
type Tie struct {
	A, RingA, EdgeA int // which outline, which of its rings, which edge
	B, RingB, EdgeB int
}

// tieLimit is the greatest squared distance of two faces, over its variance, at which they count as one wall: chance exceeds it once
// in a thousand (chi-squared, one degree of freedom).
const tieLimit = 10.83

// Join makes one unknown of the place of every wall that two outlines share. It is the adjustment of all outlines together under the conditions that
// the two faces meet in the middle of what they share (conditions between unknowns: Helmert 1872): where the fits of single outlines are Gaussian
// with the covariances that they state, it is the joint fit. Corners, covariances and areas of all edges of both outlines follow.
// Directions are not tied: tried on simulated rows, it made stated errors of corners a tenth too small and none of them better.
//
// Both faces are seen by the same pulses, so the variance of each is doubled first: together they then know the wall as well as one does, not
// better. Ties whose faces lie further apart than their errors explain are left out. Outlines with arcs must not be tied. The results are
// changed in place, but for none of them if one would not stay an outline of the same shape or a vertex moved by more than most metres.
func Join(results []*Result, ties []Tie, most float64) bool {
	j := newJoin(results)
	j.tie(ties)
	if len(j.rows) == 0 {
		return false
	}
	var inverse []float64
	for range 3 { // directions enter with their sine; the second step is exact to micrometres
		var ok bool
		if inverse, ok = j.improve(); !ok {
			return false
		}
	}
	next := make([]*Result, len(results))
	for b := range results {
		if len(j.touching[b]) == 0 {
			continue
		}
		var ok bool
		if next[b], ok = results[b].restated(j.now[b], j.conditioned(b, inverse), most); !ok {
			return false
		}
	}
	for b, r := range next {
		if r != nil {
			*results[b] = *r
		}
	}
	return true
}

// A condition is that a place, the middle of the stretch that two faces share, lies as far inside the one as outside the other.
type condition struct {
	tie    Tie
	x, y   float64
	terms  [4]conditionTerm
	count  int
	misfit float64
}

// A conditionTerm is the derivative of a condition by one unknown of an outline.
type conditionTerm struct {
	outline, param int
	by             float64
}

// A join is the adjustment of several outlines at work.
type join struct {
	results    []*Result
	start, now [][]float64
	cov        [][]float64
	rows       []condition
	touching   [][]int // rows, by outline
}

func newJoin(results []*Result) *join {
	j := &join{results: results, touching: make([][]int, len(results))}
	for _, r := range results {
		x := append([]float64(nil), r.Directions...)
		for _, ring := range r.Rings {
			for i, e := range ring.Edges {
				if e.Arc > 0 {
					continue
				}
				nx, ny := normal(r.Directions[e.Direction], e.Quarter)
				x = append(x, nx*(ring.Vertices[i].X-r.OriginX)+ny*(ring.Vertices[i].Y-r.OriginY))
			}
		}
		j.start = append(j.start, x)
		j.now = append(j.now, append([]float64(nil), x...))
		j.cov = append(j.cov, append([]float64(nil), r.Covariance...))
	}
	return j
}

// tie writes the conditions of all ties that hold.
func (j *join) tie(ties []Tie) {
	doubled := make(map[[2]int]bool)
	for _, t := range ties {
		a, b := j.edge(t.A, t.RingA, t.EdgeA), j.edge(t.B, t.RingB, t.EdgeB)
		for _, face := range [2]struct {
			outline int
			edge    *Edge
		}{{t.A, a}, {t.B, b}} {
			if at := [2]int{face.outline, face.edge.Parameter}; !doubled[at] {
				doubled[at] = true
				j.cov[at[0]][at[1]*(len(j.start[at[0]])+1)] += face.edge.Sigma * face.edge.Sigma
			}
		}
		c := condition{tie: t}
		c.x, c.y = j.meeting(t)
		j.linearise(&c)
		if !(c.misfit*c.misfit < tieLimit*j.product(&c, &c)) {
			continue
		}
		for _, b := range [2]int{t.A, t.B} {
			j.touching[b] = append(j.touching[b], len(j.rows))
		}
		j.rows = append(j.rows, c)
	}
}

func (j *join) edge(b, ring, edge int) *Edge { return &j.results[b].Rings[ring].Edges[edge] }

// meeting is the middle of the stretch that two faces share.
func (j *join) meeting(t Tie) (x, y float64) {
	ends := func(b, ring, edge int) span {
		v := j.results[b].Rings[ring].Vertices
		p, q := v[edge], v[(edge+1)%len(v)]
		return segment(p.X, p.Y, q.X, q.Y)
	}
	s, o := ends(t.A, t.RingA, t.EdgeA), ends(t.B, t.RingB, t.EdgeB)
	from, to := max(s.ta, s.along(o.bx, o.by)), min(s.tb, s.along(o.ax, o.ay))
	return s.place((from+to)/2, 0)
}

// linearise writes the misfit of a condition and its derivatives at the unknowns as they are now.
func (j *join) linearise(c *condition) {
	c.misfit, c.count = 0, 0
	term := func(b, param int, by float64) {
		c.terms[c.count] = conditionTerm{b, param, by}
		c.count++
	}
	a, b := j.edge(c.tie.A, c.tie.RingA, c.tie.EdgeA), j.edge(c.tie.B, c.tie.RingB, c.tie.EdgeB)
	for _, side := range [2]struct {
		outline int
		edge    *Edge
	}{{c.tie.A, a}, {c.tie.B, b}} {
		r, e := j.results[side.outline], side.edge
		nx, ny := normal(j.now[side.outline][e.Direction], e.Quarter)
		x, y := c.x-r.OriginX, c.y-r.OriginY
		c.misfit += j.now[side.outline][e.Parameter] - nx*x - ny*y // how far inside the face
		term(side.outline, e.Parameter, 1)
		term(side.outline, e.Direction, -(nx*y - ny*x))
	}
}

// product is what the covariance of the unknowns makes of two conditions.
func (j *join) product(c, d *condition) float64 {
	sum := 0.0
	for _, p := range c.terms[:c.count] {
		n := len(j.start[p.outline])
		for _, q := range d.terms[:d.count] {
			if p.outline == q.outline {
				sum += p.by * q.by * j.cov[p.outline][p.param*n+q.param]
			}
		}
	}
	return sum
}

// improve moves the unknowns to where all conditions hold, as far as they are linear, and returns the inverse of the conditions' covariance.
func (j *join) improve() (inverse []float64, ok bool) {
	m := len(j.rows)
	for i := range j.rows {
		j.linearise(&j.rows[i])
	}
	normals, right := make([]float64, m*m), make([]float64, m)
	for i := range j.rows {
		c := &j.rows[i]
		for k := range i + 1 {
			normals[i*m+k] = j.product(c, &j.rows[k])
		}
		normals[i*m+i] *= 1 + 1e-9
		right[i] = c.misfit
		for _, t := range c.terms[:c.count] {
			right[i] += t.by * (j.start[t.outline][t.param] - j.now[t.outline][t.param])
		}
	}
	if !cholesky(normals, m) {
		return nil, false
	}
	solveCholesky(normals, m, right)
	for b := range j.now {
		copy(j.now[b], j.start[b])
		for _, i := range j.touching[b] {
			for p, v := range j.column(b, &j.rows[i]) {
				j.now[b][p] -= v * right[i]
			}
		}
	}
	inverse = make([]float64, m*m)
	for i := range m {
		column := inverse[i*m : (i+1)*m]
		column[i] = 1
		solveCholesky(normals, m, column)
	}
	return inverse, true
}

// column is the covariance of an outline's unknowns with a condition.
func (j *join) column(b int, c *condition) []float64 {
	n := len(j.start[b])
	list := make([]float64, n)
	for _, t := range c.terms[:c.count] {
		if t.outline == b {
			for p := range list {
				list[p] += t.by * j.cov[b][p*n+t.param]
			}
		}
	}
	return list
}

// conditioned is the covariance of an outline's unknowns when the conditions hold.
func (j *join) conditioned(b int, inverse []float64) []float64 {
	n, m := len(j.start[b]), len(j.rows)
	columns := make([][]float64, len(j.touching[b]))
	for k, i := range j.touching[b] {
		columns[k] = j.column(b, &j.rows[i])
	}
	cov := append([]float64(nil), j.cov[b]...)
	for k, i := range j.touching[b] {
		for l, h := range j.touching[b] {
			w := inverse[i*m+h]
			for p := range n {
				for q := range n {
					cov[p*n+q] -= columns[k][p] * w * columns[l][q]
				}
			}
		}
	}
	return cov
}

// restated is the outline with other unknowns and another covariance; not ok when an edge would not keep its way, a ring would touch itself, or a
// vertex moved by more than most.
func (r *Result) restated(x, cov []float64, most float64) (*Result, bool) {
	next := *r
	next.Covariance, next.Directions, next.Rings = cov, nil, make([]Ring, len(r.Rings))
	turns := make([]int, len(r.Directions))
	for g := range r.Directions {
		turns[g] = int(math.Floor(x[g] / (math.Pi / 2)))
		next.Directions = append(next.Directions, x[g]-float64(turns[g])*(math.Pi/2))
	}
	m := &model{theta: next.Directions}
	for k, ring := range r.Rings {
		next.Rings[k] = Ring{Vertices: append([]Vertex(nil), ring.Vertices...), Edges: append([]Edge(nil), ring.Edges...), Hole: ring.Hole}
		var edges []edge
		for i := range ring.Edges {
			e := &next.Rings[k].Edges[i]
			e.Quarter = (e.Quarter + turns[e.Direction]) & 3
			edges = append(edges, edge{family: e.Direction, quarter: e.Quarter, offset: x[e.Parameter]})
		}
		m.rings = append(m.rings, edges)
	}
	spans, n := m.spans(0, nil), len(x)
	for i := range spans {
		s, p := &spans[i], &spans[spans[i].prev]
		v, e := &next.Rings[s.ring].Vertices[s.index], &next.Rings[s.ring].Edges[s.index]
		if moved := math.Hypot(s.ax+r.OriginX-v.X, s.ay+r.OriginY-v.Y); !(s.length() > 0) || !(moved <= most) {
			return nil, false
		}
		v.X, v.Y = s.ax+r.OriginX, s.ay+r.OriginY
		v.Angle = math.Pi - math.Atan2(p.nx*s.ny-p.ny*s.nx, p.nx*s.nx+p.ny*s.ny)
		v.CovXX, v.CovXY, v.CovYY = cornerCovariance(n, cov, p, s)
		t := (s.ta + s.tb) / 2
		e.Length = s.length()
		e.Sigma = math.Sqrt(max(cov[s.param*n+s.param]-2*t*cov[s.param*n+s.family]+t*t*cov[s.family*n+s.family], 0))
	}
	next.AreaSigma = math.Sqrt(max(areaVariance(n, cov, spans), 0))
	return &next, m.sound()
}

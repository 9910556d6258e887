package outline

import (
	"cmp"
	"math"
	"slices"
)

// describe works out the covariance of a fitted model and writes it down as a result, the largest hole first.
func (f *fitter) describe(m *model) Result {
	m.sortHoles()
	spans := m.spans(0, nil)
	seen := look(f.l.field, spans, f.measures)
	whole := wholeDensity(seen, f.measures.Spacing)
	prec := newPrecision(f.measures, f.l.classes() == 3)
	supports := make([]support, len(spans))
	for i := range spans {
		supports[i] = prec.support(&spans[i], &seen[i], whole)
		f.weighEdge(&spans[i], &supports[i])
	}
	r := Result{OriginX: f.ox, OriginY: f.oy, Regular: true}
	cov, ok := covariance(m, spans, supports)
	if !ok {
		r.Regular = false
		cov = make([]float64, m.parameters()*m.parameters())
	}
	doubtBeam(len(m.theta), m.parameters(), cov, f.measures.BeamDoubt)
	r.Covariance = cov
	r.AreaSigma = math.Sqrt(max(areaVariance(m.parameters(), cov, spans), 0))
	f.l.active = 0
	r.LogLik = f.l.at(m, floorSigma(m, f.l, f.measures), f.l.all(), nil)
	r.Near, r.Iterations = f.l.active, f.steps
	f.writeRings(&r, m, spans, seen, supports)
	return r
}

// sortHoles orders the rings after the first by area, the largest first.
func (m *model) sortHoles() {
	spans := m.spans(0, nil)
	order := make([]int, len(m.rings))
	area := make([]float64, len(m.rings))
	for r := range m.rings {
		order[r], area[r] = r, ringArea(m.ringSpans(spans, r))
	}
	slices.SortStableFunc(order[1:], func(a, b int) int { return cmp.Compare(area[a], area[b]) })
	sorted := make([][]edge, len(order))
	for i, r := range order {
		sorted[i] = m.rings[r]
	}
	m.rings = sorted
}

// review says what a person should look at.
func (f *fitter) review(r *Result, sound bool) {
	near, unexplained, points, hidden, small := 0, 0, 0, false, false
	for _, ring := range r.Rings {
		for _, e := range ring.Edges {
			near += e.Inside + e.Outside
			unexplained += e.Unexplained
			points += e.Inside
			hidden = hidden || e.OneSided || e.Seen < 0.5 && e.Length > 4*f.measures.Spacing
			small = small || e.Length < 0.99*f.options.MinJog
		}
	}
	r.Regular = r.Regular && sound && !small && float64(unexplained) <= 3+0.03*float64(near)
	for _, reason := range []struct {
		holds bool
		name  string
	}{{!r.Regular, "irregular"}, {hidden, "occluded"}, {points < 20, "sparse"}} {
		if reason.holds {
			r.Reasons = append(r.Reasons, reason.name)
		}
	}
}

// writeRings writes rings, vertices and edges.
func (f *fitter) writeRings(r *Result, m *model, spans []span, seen []sighting, supports []support) {
	n := m.parameters()
	r.EdgeRMS = edgeRMS(seen)
	for _, t := range m.theta {
		r.Directions = append(r.Directions, t-math.Floor(t/(math.Pi/2))*(math.Pi/2))
	}
	i := 0
	for k := range m.rings {
		ring := Ring{Hole: ringArea(m.ringSpans(spans, k)) < 0}
		for range m.rings[k] {
			s, p := &spans[i], &spans[spans[i].prev]
			v := Vertex{X: s.ax + f.ox, Y: s.ay + f.oy, Angle: math.Pi - math.Atan2(p.nx*s.ny-p.ny*s.nx, p.nx*s.nx+p.ny*s.ny)}
			v.CovXX, v.CovXY, v.CovYY = cornerCovariance(n, r.Covariance, p, s)
			v.DoubtXX, v.DoubtXY, v.DoubtYY = f.cornerDoubt(p, s, supports[s.prev].last, supports[i].first)
			v.CovXX, v.CovXY, v.CovYY = v.CovXX+v.DoubtXX, v.CovXY+v.DoubtXY, v.CovYY+v.DoubtYY
			if !supports[i].endSeen(&seen[i], true) || !supports[s.prev].endSeen(&seen[s.prev], false) {
				v.Kind = Extended
			}
			ring.Vertices = append(ring.Vertices, v)
			turns := int(math.Floor(m.theta[s.family] / (math.Pi / 2)))
			ring.Edges = append(ring.Edges, Edge{
				Length: s.length(), Sigma: math.Sqrt(supports[i].variance + 2*f.measures.BeamDoubt*f.measures.BeamDoubt), Seen: supports[i].seen, OneSided: supports[i].missing > 0.5,
				Inside: seen[i].count[Inside], Split: seen[i].count[Split], Outside: seen[i].count[Outside], Unexplained: seen[i].unexplained,
				Direction: s.family, Quarter: (m.rings[k][s.index].quarter + turns) & 3, Parameter: s.param,
			})
			i++
		}
		r.Rings = append(r.Rings, ring)
	}
}

// endSeen tells whether the edge is seen from both sides at one of its ends: in one of the two bins there, and over half of all.
func (p *support) endSeen(g *sighting, first bool) bool {
	n := len(g.bins)
	a, b := &g.bins[n-1], &g.bins[max(n-2, 0)]
	if first {
		a, b = &g.bins[0], &g.bins[min(1, n-1)]
	}
	return p.missing < 0.5 && (a.seen() || b.seen()) && p.seen > 0.25
}

// edgeRMS is the root mean square distance from the outline of the observations on its wrong side.
func edgeRMS(seen []sighting) float64 {
	n, sum := 0, 0.0
	for i := range seen {
		n += seen[i].wrong
		sum += seen[i].wrongSq
	}
	return math.Sqrt(sum / float64(max(n, 1)))
}

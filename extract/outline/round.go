package outline

import "math"

// roundOff puts arcs in place of the bends that they explain better. Where the outcome would not be a sound outline the bends stay.
func (f *fitter) roundOff(r *Result, m *model) {
	spans := m.spans(0, nil)
	fits := f.arcs(m, spans)
	if len(fits) == 0 {
		return
	}
	seen := look(f.l.field, spans, f.measures)
	w := &rounder{f: f, m: m, spans: spans, old: r, prec: newPrecision(f.measures, f.l.classes() == 3), whole: wholeDensity(seen, f.measures.Spacing)}
	of := make([]int, len(spans)) // 1 + the arc that an edge is part of
	for _, a := range fits {
		arc, ok := w.arc(&a)
		if !ok {
			continue
		}
		for _, s := range a.edges(m, spans) {
			of[w.place(s)] = len(w.arcs) + 1
		}
		w.fits, w.arcs = append(w.fits, a), append(w.arcs, arc)
	}
	if len(w.arcs) == 0 {
		return
	}
	next := *r
	next.Rings, next.Arcs = nil, w.arcs
	base := 0
	for k := range m.rings {
		n := len(m.rings[k])
		next.Rings = append(next.Rings, w.ring(k, base, of[base:base+n]))
		base += n
	}
	if !soundRings(next.Rings) {
		return
	}
	next.dropParameters(r)
	next.shiftArcs(f.ox, f.oy)
	*r = next
}

// A rounder writes the rings of an outline anew with arcs in them.
type rounder struct {
	f     *fitter
	m     *model
	spans []span
	old   *Result
	prec  precision
	whole float64
	fits  []arcFit
	arcs  []Arc
}

// place is the number of a span among all.
func (w *rounder) place(s *span) int { return w.m.flat(s.ring, s.index) }

// arc works out the covariance of a circle and how it is cut into chords: the offset of an edge as long as the arc has the variance that
// tells how well it is known, and a place at the angle φ tells of the parameters (x, y, r) by (cos φ, sin φ, 1).
func (w *rounder) arc(a *arcFit) (Arc, bool) {
	edges := a.edges(w.m, w.spans)
	from, to := w.ends(a, edges)
	start := math.Atan2(from[1]-a.y, from[0]-a.x)
	sweep := math.Mod(a.sign*(math.Atan2(to[1]-a.y, to[0]-a.x)-start)+4*math.Pi, 2*math.Pi)
	if a.whole {
		sweep = 2 * math.Pi
	}
	length := sweep * a.r
	rate := w.whole * length
	hard := 0.5 / (rate * rate) * w.prec.split(rate)
	soft := w.prec.sigma / (edgeInformation * w.prec.gain * rate)
	variance := math.Pow(math.Pow(hard, 1.5)+math.Pow(soft, 1.5), 2.0/3) + 2*w.f.measures.BeamDoubt*w.f.measures.BeamDoubt
	const steps = 64
	info := make([]float64, 9)
	for i := range steps {
		sin, cos := math.Sincos(start + a.sign*sweep*(float64(i)+0.5)/steps)
		g := [3]float64{cos, sin, 1}
		for j := range g {
			for k := range g {
				info[3*j+k] += g[j] * g[k] / (steps * variance)
			}
		}
	}
	if !cholesky(info, 3) {
		return Arc{}, false
	}
	var cov [3][3]float64
	for c := range 3 {
		cov[c][c] = 1
		solveCholesky(info, 3, cov[c][:])
	}
	out := Arc{
		Ring: edges[0].ring, X: a.x, Y: a.y, Radius: a.r, Sweep: a.sign * sweep, SigmaRadius: math.Sqrt(cov[2][2]),
		CovXX: cov[0][0], CovXY: cov[0][1], CovYY: cov[1][1], CovXRadius: cov[0][2], CovYRadius: cov[1][2],
	}
	return out, length > 4*w.f.measures.Spacing && sweep > math.Pi/3
}

// ends are where the edges beside a bend meet the circle: the meeting place nearest to where they met the bend, or where the line comes nearest
// to the centre when they do not meet.
func (w *rounder) ends(a *arcFit, edges []*span) (from, to [2]float64) {
	first, last := edges[0], edges[len(edges)-1]
	if a.whole {
		return [2]float64{first.ax, first.ay}, [2]float64{first.ax, first.ay}
	}
	x, y := a.meet(&w.spans[first.prev], true)
	u, v := a.meet(&w.spans[last.next], false)
	return [2]float64{x, y}, [2]float64{u, v}
}

func (c circle) meet(s *span, atEnd bool) (x, y float64) {
	h, t, at := s.inward(c.x, c.y), s.along(c.x, c.y), s.ta
	if atEnd {
		at = s.tb
	}
	if half := c.r*c.r - h*h; half > 0 {
		half = math.Sqrt(half)
		if math.Abs(t+half-at) < math.Abs(t-half-at) {
			t += half
		} else {
			t -= half
		}
	}
	return s.place(t, 0)
}

// chords is the number of chords of an arc and the radius at which their vertices lie, a little outside, so that the area is that of the arc.
func (a *Arc) chords() (n int, radius float64) {
	allowed := min(max(a.SigmaRadius/2, finestChord), coarsestChord)
	step := 2 * math.Acos(max(1-allowed/a.Radius, 0.5))
	n = max(int(math.Ceil(math.Abs(a.Sweep)/step)), 4)
	delta := math.Abs(a.Sweep) / float64(n)
	radius = a.Radius * math.Sqrt(delta/math.Sin(delta))
	a.ChordError = max(a.Radius-radius*math.Cos(delta/2), radius-a.Radius)
	return n, radius
}

// ring writes one ring anew; of tells of each edge of it which arc it is part of.
func (w *rounder) ring(k, base int, of []int) Ring {
	old := &w.old.Rings[k]
	out := Ring{Hole: old.Hole}
	n := len(of)
	first := 0 // where an arc or a straight stretch begins, if there is such a place
	for i := range n {
		if of[i] != of[(i+n-1)%n] {
			first = i
			break
		}
	}
	for step := range n {
		i := (first + step) % n
		before := of[(i+n-1)%n]
		switch {
		case of[i] == 0:
			v, e := old.Vertices[i], old.Edges[i]
			if before != 0 {
				v = w.junction(before-1, &w.spans[base+i], false)
			}
			out.Vertices, out.Edges = append(out.Vertices, v), append(out.Edges, e)
		case step == 0 || before != of[i]:
			w.chordsOf(&out, of[i]-1, base+(i+n-1)%n, old.Edges[i])
		}
	}
	count := len(out.Vertices)
	for i := range out.Vertices {
		p, a, b := &out.Vertices[(i+count-1)%count], &out.Vertices[i], &out.Vertices[(i+1)%count]
		out.Edges[i].Length = math.Hypot(b.X-a.X, b.Y-a.Y)
		a.Angle = math.Pi - math.Atan2((a.X-p.X)*(b.Y-a.Y)-(a.Y-p.Y)*(b.X-a.X), (a.X-p.X)*(b.X-a.X)+(a.Y-p.Y)*(b.Y-a.Y))
	}
	return out
}

// chordsOf appends the polyline of an arc, from its first vertex to the one before its last.
func (w *rounder) chordsOf(out *Ring, k, before int, like Edge) {
	arc, fit := &w.arcs[k], &w.fits[k]
	from, _ := w.ends(fit, fit.edges(w.m, w.spans))
	n, radius := arc.chords()
	start := math.Atan2(from[1]-arc.Y, from[0]-arc.X)
	like.Direction, like.Quarter, like.Parameter, like.Arc = -1, 0, -1, k+1
	like.Inside, like.Split, like.Outside, like.Unexplained = 0, 0, 0, 0
	like.Sigma = arc.SigmaRadius
	for i := range n {
		v := w.onArc(arc, start+arc.Sweep*float64(i)/float64(n), radius)
		if i == 0 && !fit.whole {
			v = w.junction(k, &w.spans[before], true)
		}
		out.Vertices, out.Edges = append(out.Vertices, v), append(out.Edges, like)
	}
}

// onArc is the vertex of an arc at an angle. It is uncertain across the arc; along it there is nothing to be uncertain of.
func (w *rounder) onArc(a *Arc, angle, radius float64) Vertex {
	sin, cos := math.Sincos(angle)
	v := a.across(cos, sin)
	return Vertex{
		X: a.X + radius*cos + w.f.ox, Y: a.Y + radius*sin + w.f.oy, Kind: Round,
		CovXX: v * cos * cos, CovXY: v * cos * sin, CovYY: v * sin * sin,
	}
}

// across is the variance of the place of an arc in the direction of its own radius.
func (a *Arc) across(cos, sin float64) float64 {
	return a.CovXX*cos*cos + 2*a.CovXY*cos*sin + a.CovYY*sin*sin + 2*(a.CovXRadius*cos+a.CovYRadius*sin) + a.SigmaRadius*a.SigmaRadius
}

// junction is the vertex where a straight edge meets an arc. Where the one leaves the other smoothly it is no corner.
func (w *rounder) junction(k int, s *span, atEnd bool) Vertex {
	arc, fit := &w.arcs[k], &w.fits[k]
	x, y := fit.meet(s, atEnd)
	d := math.Hypot(x-arc.X, y-arc.Y)
	cos, sin := (x-arc.X)/d, (y-arc.Y)/d
	va := arc.across(cos, sin)
	n := w.m.parameters()
	t := s.along(x, y)
	vs := w.old.Covariance[s.param*n+s.param] - 2*t*w.old.Covariance[s.param*n+s.family] + t*t*w.old.Covariance[s.family*n+s.family]
	v := Vertex{X: x + w.f.ox, Y: y + w.f.oy, Kind: Adjusted}
	cross := s.nx*sin - s.ny*cos
	if math.Abs(cross) < 0.4 {
		v.Kind, v.CovXX, v.CovYY = Round, max(va, vs), max(va, vs)
		return v
	}
	c2 := cross * cross
	v.CovXX = (vs*sin*sin + va*s.ny*s.ny) / c2
	v.CovXY = -(vs*sin*cos + va*s.ny*s.nx) / c2
	v.CovYY = (vs*cos*cos + va*s.nx*s.nx) / c2
	return v
}

// soundRings tells whether no edges of rings touch that are not neighbours.
func soundRings(rings []Ring) bool {
	var spans []span
	for _, r := range rings {
		base, n := len(spans), len(r.Vertices)
		for i, a := range r.Vertices {
			b := r.Vertices[(i+1)%n]
			s := segment(a.X, a.Y, b.X, b.Y)
			if l := s.length(); !(l > 0) || math.IsInf(l, 0) {
				return false
			}
			s.next = base + (i+1)%n
			spans = append(spans, s)
		}
	}
	for i := range spans {
		for k := i + 1; k < len(spans); k++ {
			if spans[i].next != k && spans[k].next != i && spans[i].touches(&spans[k]) {
				return false
			}
		}
	}
	return true
}

// dropParameters leaves out of the covariance what only edges had that arcs replace, and numbers the rest anew.
func (r *Result) dropParameters(old *Result) {
	n := len(old.Directions)
	for _, ring := range old.Rings {
		n += len(ring.Edges)
	}
	index := make([]int, n)
	for _, ring := range r.Rings {
		for _, e := range ring.Edges {
			if e.Parameter >= 0 {
				index[e.Parameter], index[e.Direction] = 1, 1
			}
		}
	}
	var kept []int
	r.Directions = nil
	for i, used := range index {
		if used == 0 {
			continue
		}
		index[i] = len(kept)
		kept = append(kept, i)
		if i < len(old.Directions) {
			r.Directions = append(r.Directions, old.Directions[i])
		}
	}
	r.Covariance = make([]float64, 0, len(kept)*len(kept))
	for _, i := range kept {
		for _, k := range kept {
			r.Covariance = append(r.Covariance, old.Covariance[i*n+k])
		}
	}
	for k := range r.Rings {
		for i := range r.Rings[k].Edges {
			if e := &r.Rings[k].Edges[i]; e.Parameter >= 0 {
				e.Parameter, e.Direction = index[e.Parameter], index[e.Direction]
			}
		}
	}
}

// shiftArcs moves the centres to the origin of the observations.
func (r *Result) shiftArcs(ox, oy float64) {
	for i := range r.Arcs {
		r.Arcs[i].X += ox
		r.Arcs[i].Y += oy
	}
}

package outline

import "math"

// An Arc is a round part of the outline. The ring has a polyline in its place, of vertices of kind Round.
type Arc struct {
	Ring int
	// X, Y and Radius are the circle's; the covariances are square metres. An arc that turns left, with the roof within the circle, has a
	// positive Sweep, radians; one around a round court a negative one.
	X, Y, Radius           float64
	CovXX, CovXY, CovYY    float64
	SigmaRadius            float64
	CovXRadius, CovYRadius float64
	Sweep                  float64
	// ChordError is the greatest distance of the polyline from the circle.
	ChordError float64
}

const (
	// arcEdges is the least number of edges that may be an arc: fewer are a bay.
	arcEdges = 5
	// flattestTurn and sharpestTurn bound, in radians, how the outline turns from one to the next of them.
	flattestTurn, sharpestTurn = 0.09, 1.25
	// longestRadius is that of the largest round building looked for, metres.
	longestRadius              = 100
	finestChord, coarsestChord = 0.01, 0.02 // metres
)

// A bend is a run of edges of one ring, from the first on, that turn one way.
type bend struct {
	first, count int // among all spans; a run may pass the end of its ring
	whole        bool
}

// A circle is what a bend is fitted by; sign is 1 with the roof inside.
type circle struct{ x, y, r, sign float64 }

// inward is the distance of a place inside the edge that the circle is.
func (c circle) inward(x, y float64) float64 { return c.sign * (c.r - math.Hypot(x-c.x, y-c.y)) }

// bends finds the runs of edges that may be arcs.
func (m *model) bends(spans []span) []bend {
	var found []bend
	base := 0
	for _, ring := range m.rings {
		n := len(ring)
		turns := make([]bool, n) // from edge i to the next
		sign := 1.0
		if ringArea(spans[base:base+n]) < 0 {
			sign = -1
		}
		smooth := 0
		for i := range n {
			a, b := &spans[base+i], &spans[spans[base+i].next]
			turn := sign * math.Atan2(a.nx*b.ny-a.ny*b.nx, a.nx*b.nx+a.ny*b.ny)
			turns[i] = turn > flattestTurn && turn < sharpestTurn
			if turns[i] {
				smooth++
			}
		}
		switch {
		case smooth == n && n >= arcEdges:
			found = append(found, bend{base, n, true})
		case smooth > 0:
			for i := range n {
				if turns[i] && !turns[(i+n-1)%n] {
					count := 1
					for turns[(i+count-1)%n] && count < n {
						count++
					}
					if count >= arcEdges && count < n {
						found = append(found, bend{base + i, count, false})
					}
				}
			}
		}
		base += n
	}
	return found
}

// edges lists the spans of a bend.
func (b bend) edges(m *model, spans []span) []*span {
	list := make([]*span, b.count)
	at := b.first
	for i := range list {
		list[i] = &spans[at]
		at = spans[at].next
	}
	return list
}

// shorter are the bend and what is left of it without its first edge, its last, and both: a wall that an arc leaves smoothly looks like a part of it.
func (b bend) shorter(spans []span) []bend {
	list := []bend{b}
	if b.whole {
		return list
	}
	next := spans[b.first].next
	for _, s := range []bend{{next, b.count - 1, false}, {b.first, b.count - 1, false}, {next, b.count - 2, false}} {
		if s.count >= arcEdges-2 {
			list = append(list, s)
		}
	}
	return list
}

// An arcFit is a circle fitted in place of a bend.
type arcFit struct {
	bend
	circle
	gain float64 // of log-likelihood less price, over the edges
}

// arcs are the bends that a circle explains better than their edges.
func (f *fitter) arcs(m *model, spans []span) []arcFit {
	var kept []arcFit
	for _, b := range m.bends(spans) {
		var best *arcFit
		for _, s := range b.shorter(spans) {
			if a, ok := f.arc(m, spans, s); ok && a.gain > 0 && (best == nil || a.gain > best.gain) {
				best = &a
			}
		}
		if best != nil {
			kept = append(kept, *best)
		}
	}
	return kept
}

// arc fits a circle to the observations about a bend.
func (f *fitter) arc(m *model, spans []span, b bend) (arcFit, bool) {
	edges := b.edges(m, spans)
	start, ok := kasa(edges)
	if !ok {
		return arcFit{}, false
	}
	length, families := 0.0, map[int]bool{}
	for _, s := range edges {
		length += s.length()
		families[s.family] = true
	}
	near := f.sector(edges, start, b.whole)
	spacing := f.measures.Spacing
	sigma := max(f.measures.Sigma, 0.5*spacing*spacing/length)
	a := arcFit{bend: b, circle: start}
	for wide := max(sigma, spacing/2); ; wide = max(wide/2, sigma) {
		a.circle = f.climbCircle(a.circle, near, wide)
		if wide == sigma {
			break
		}
	}
	if !(a.r > spacing) || a.r > longestRadius || math.Hypot(a.x-start.x, a.y-start.y) > start.r {
		return a, false
	}
	others := 0
	for g := range families {
		if m.only(g, edges) {
			others++
		}
	}
	c := f.chooser(m)
	unit, place := c.logNear(spans)/2, 0.5*math.Log(max(length/spacing, 1))
	price := float64(b.count+others)*unit + float64(b.count)*place - 3*unit - 2*place
	polygon := 0.0
	for _, k := range near {
		polygon += f.logSide(start, k, hollow(edges, start.sign, f.l.x[k], f.l.y[k]), sigma)
	}
	a.gain = f.logCircle(a.circle, near, sigma) - polygon + price
	return a, true
}

// only tells whether all edges of a family are among those listed.
func (m *model) only(family int, edges []*span) bool {
	n := 0
	for _, r := range m.rings {
		for _, e := range r {
			if e.family == family {
				n++
			}
		}
	}
	for _, s := range edges {
		if s.family == family {
			n--
		}
	}
	return n == 0
}

// hollow is the distance of a place inside a run of edges that turn one way.
func hollow(edges []*span, sign, x, y float64) float64 {
	least := math.Inf(1)
	for _, s := range edges {
		least = min(least, sign*s.inward(x, y))
	}
	return sign * least
}

// kasa is the circle by least squares of x² + y² = 2ax + 2by + c (Kåsa 1976, IEEE Trans. Instrum. Meas. 25:8–14) through middles and
// meeting points of edges: they are as far inside as outside.
func kasa(edges []*span) (circle, bool) {
	var a [3][3]float64
	var b [3]float64
	add := func(x, y float64) {
		row := [3]float64{2 * x, 2 * y, 1}
		for i := range row {
			for k := range row {
				a[i][k] += row[i] * row[k]
			}
			b[i] += row[i] * (x*x + y*y)
		}
	}
	turn := 0.0
	for i, s := range edges {
		add((s.ax+s.bx)/2, (s.ay+s.by)/2)
		if i > 0 {
			add(s.ax, s.ay)
			p := edges[i-1]
			turn += p.nx*s.ny - p.ny*s.nx
		}
	}
	flat := []float64{a[0][0], a[0][1], a[0][2], a[1][0], a[1][1], a[1][2], a[2][0], a[2][1], a[2][2]}
	if !cholesky(flat, 3) {
		return circle{}, false
	}
	solveCholesky(flat, 3, b[:])
	square := b[2] + b[0]*b[0] + b[1]*b[1]
	return circle{b[0], b[1], math.Sqrt(max(square, 0)), math.Copysign(1, turn)}, square > 0
}

// sector lists the observations about a bend, away from its ends.
func (f *fitter) sector(edges []*span, c circle, whole bool) []int32 {
	first, last := edges[0], edges[len(edges)-1]
	depth := 3 * f.measures.Spacing
	ux, uy := first.ax-c.x, first.ay-c.y
	sweep := math.Mod(c.sign*(math.Atan2(last.by-c.y, last.bx-c.x)-math.Atan2(uy, ux))+4*math.Pi, 2*math.Pi)
	var near []int32
	for k := range f.l.x {
		x, y := f.l.x[k]-c.x, f.l.y[k]-c.y
		if f.l.side[k] == Unknown || math.Abs(math.Hypot(x, y)-c.r) > depth {
			continue
		}
		at := math.Mod(c.sign*(math.Atan2(y, x)-math.Atan2(uy, ux))+4*math.Pi, 2*math.Pi)
		if whole || at < sweep {
			near = append(near, int32(k))
		}
	}
	return near
}

// logSide is the log-probability of an observation at distance h inside an edge.
func (f *fitter) logSide(c circle, k int32, h, sigma float64) float64 {
	p, _, _ := f.sideChance(c, k, h, sigma)
	return math.Log(p)
}

// sideChance is the probability of the side of an observation at distance h inside an edge, its derivative by h, and Fisher's information of h.
// The edge is across the radius at the observation.
func (f *fitter) sideChance(c circle, k int32, h, sigma float64) (p, slope, info float64) {
	dx, dy := f.l.x[k]-c.x, f.l.y[k]-c.y
	d := max(math.Hypot(dx, dy), 1e-9)
	beam := f.measures.across(dx/d, dy/d)
	inner, outer := (h-beam)/sigma, (h+beam)/sigma
	if f.l.merged || f.l.blind[k] {
		inner = outer
	}
	in, out := cumulative(inner), cumulative(-outer)
	din, dout := density(inner)/sigma, -density(outer)/sigma
	n := f.l.classes()
	scale := 1 - n*f.l.mislabel
	chance := [3]float64{f.l.mislabel + scale*in, f.l.mislabel + scale*max(1-in-out, 0), f.l.mislabel + scale*out}
	by := [3]float64{scale * din, -scale * (din + dout), scale * dout}
	side := f.l.side[k]
	if side == Split && (f.l.merged || f.l.blind[k]) {
		side = Inside
	}
	for i := range chance {
		if Side(i) != Split || n == 3 {
			info += by[i] * by[i] / chance[i]
		}
	}
	return chance[side], by[side], info
}

func (f *fitter) logCircle(c circle, near []int32, sigma float64) float64 {
	sum := 0.0
	for _, k := range near {
		sum += f.logSide(c, k, c.inward(f.l.x[k], f.l.y[k]), sigma)
	}
	return sum
}

// climbCircle moves a circle uphill by Fisher scoring.
func (f *fitter) climbCircle(c circle, near []int32, sigma float64) circle {
	const rounds = 20
	value, damping := f.logCircle(c, near, sigma), 1e-3
	for range rounds {
		info, score := f.circleScore(c, near, sigma)
		for i := range 3 {
			info[4*i] += damping*info[4*i] + 1/(f.measures.Spacing*f.measures.Spacing)
		}
		if !cholesky(info, 3) {
			return c
		}
		solveCholesky(info, 3, score)
		next := circle{c.x + score[0], c.y + score[1], c.r + score[2], c.sign}
		if v := f.logCircle(next, near, sigma); v > value && next.r > 0 {
			c, value, damping = next, v, max(damping/8, 1e-7)
			if math.Abs(score[0])+math.Abs(score[1])+math.Abs(score[2]) < 1e-3*sigma {
				return c
			}
		} else {
			damping *= 8
		}
	}
	return c
}

// circleScore is Fisher's information and the gradient about (x, y, r).
func (f *fitter) circleScore(c circle, near []int32, sigma float64) (info, score []float64) {
	info, score = make([]float64, 9), make([]float64, 3)
	for _, k := range near {
		x, y := f.l.x[k]-c.x, f.l.y[k]-c.y
		d := math.Hypot(x, y)
		if d == 0 {
			continue
		}
		p, slope, weight := f.sideChance(c, k, c.inward(f.l.x[k], f.l.y[k]), sigma)
		g := [3]float64{c.sign * x / d, c.sign * y / d, c.sign}
		for i := range g {
			score[i] += g[i] * slope / p
			for j := range g {
				info[3*i+j] += weight * g[i] * g[j]
			}
		}
	}
	return info, score
}

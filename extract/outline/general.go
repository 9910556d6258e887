package outline

import (
	"cmp"
	"math"
	"slices"
)

// A run is a stretch of boundary points taken for one wall, with the line through them.
type run struct {
	nx, ny     float64 // outward normal
	x, y       float64 // the middle of its points
	endX, endY float64 // the bend where it ends
	angle      float64
	length     float64
	// doubt is the standard error of the angle.
	doubt float64
	// edge is the run as an edge of the outline.
	edge edge
}

// generalStart makes an outline without supposing right angles: the traced border, cut where it bends, a line through each piece, and
// one direction for all pieces that may share it. nil when no valid outline comes of it.
func (f *fitter) generalStart(theta float64) *model {
	cell := max(1.5*f.measures.Spacing, 3*f.measures.Sigma)
	g := newRaster(f.obs, theta, cell, true)
	rings := g.borders(g.body(g.labels(), f.minHole(), f.measures.Spacing))
	m := &model{}
	var all []*run
	parts := make([][]*run, 0, len(rings))
	for _, points := range rings {
		runs := cutRuns(points, g.cell)
		if len(runs) < 3 {
			continue
		}
		part := make([]*run, len(runs))
		for i := range runs {
			part[i] = &runs[i]
		}
		parts, all = append(parts, part), append(all, part...)
	}
	m.shareDirections(all)
	for _, part := range parts {
		m.rings = append(m.rings, m.joinRuns(part, g.cell))
	}
	m.dropUnused()
	m.repair()
	if !m.sound() {
		return nil
	}
	return m
}

// borders lists for each ring of the body's border one point for every side of a cell, in order: the middle between the centroids of
// the roof points on one side and the open points on the other, or else of the side itself.
func (g *raster) borders(body []bool) [][][2]float64 {
	var rings [][][2]float64
	for _, ring := range trace(g, body, 1) {
		var points [][2]float64
		for i, s := range ring {
			from, to := ring[(i+len(ring)-1)%len(ring)].at, ring[(i+1)%len(ring)].at
			for k := range abs(to - from) {
				points = append(points, g.borderPoint(s, from, to, k))
			}
		}
		rings = append(rings, points)
	}
	return rings
}

// borderPoint is the point for the k-th cell side of a step between two crossing lines.
func (g *raster) borderPoint(s step, from, to, k int) [2]float64 {
	at := from + k
	if to < from {
		at = from - 1 - k
	}
	var in, out int
	var u, v float64
	if s.way&1 == 0 {
		in, out = s.at*g.cols+at, (s.at-1)*g.cols+at
		u, v = g.u0+(float64(at)+0.5)*g.cell, g.v0+float64(s.at)*g.cell
	} else {
		in, out = at*g.cols+s.at-1, at*g.cols+s.at
		u, v = g.u0+float64(s.at)*g.cell, g.v0+(float64(at)+0.5)*g.cell
	}
	if s.way >= 2 {
		in, out = out, in
	}
	if g.in[in] > 0 && g.out[out] > 0 {
		i, o := float64(g.in[in]), float64(g.out[out])
		u, v = (g.inU[in]/i+g.outU[out]/o)/2, (g.inV[in]/i+g.outV[out]/o)/2
	}
	return [2]float64{g.cos*u - g.sin*v, g.sin*u + g.cos*v}
}

// cutRuns cuts a closed chain of points where it leaves the chord by more than about a cell (Douglas & Peucker 1973) and fits a line
// to each piece.
func cutRuns(points [][2]float64, cell float64) []run {
	n := len(points)
	if n < 6 {
		return nil
	}
	first := farthest(points, points[0])
	second := farthest(points, points[first])
	corners := []int{min(first, second), max(first, second)}
	corners = append(corners, bends(points, corners[0], corners[1], 0.9*cell)...)
	corners = append(corners, bends(points, corners[1], corners[0]+n, 0.9*cell)...)
	for i := range corners {
		corners[i] %= n
	}
	slices.Sort(corners)
	corners = slices.Compact(corners)
	var runs []run
	for i, c := range corners {
		to := corners[(i+1)%len(corners)]
		if to <= c {
			to += n
		}
		runs = append(runs, fitRun(points, c, to, cell))
	}
	return runs
}

func farthest(points [][2]float64, from [2]float64) int {
	best, most := 0, -1.0
	for i, p := range points {
		if d := math.Hypot(p[0]-from[0], p[1]-from[1]); d > most {
			best, most = i, d
		}
	}
	return best
}

// bends lists the indices between a and b (which may run past the end) at which the chain must be cut.
func bends(points [][2]float64, a, b int, tolerance float64) []int {
	var cut []int
	stack := [][2]int{{a, b}}
	for len(stack) > 0 {
		part := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		p, q := points[part[0]%len(points)], points[part[1]%len(points)]
		s := segment(p[0], p[1], q[0], q[1])
		best, most := -1, tolerance
		for i := part[0] + 1; i < part[1]; i++ {
			x, y := points[i%len(points)][0], points[i%len(points)][1]
			d := math.Abs(s.inward(x, y))
			if math.IsNaN(d) {
				d = math.Hypot(x-p[0], y-p[1])
			}
			if d > most {
				best, most = i, d
			}
		}
		if best >= 0 {
			cut = append(cut, best)
			stack = append(stack, [2]int{part[0], best}, [2]int{best, part[1]})
		}
	}
	return cut
}

// fitRun is the orthogonal least-squares line through the points from a to b, without those next to the bends where there are enough.
func fitRun(points [][2]float64, a, b int, cell float64) run {
	from, to := points[a%len(points)], points[b%len(points)]
	if b-a >= 5 {
		a, b = a+1, b-1
	}
	var mx, my, xx, xy, yy float64
	n := float64(b - a + 1)
	for i := a; i <= b; i++ {
		mx, my = mx+points[i%len(points)][0]/n, my+points[i%len(points)][1]/n
	}
	for i := a; i <= b; i++ {
		x, y := points[i%len(points)][0]-mx, points[i%len(points)][1]-my
		xx, xy, yy = xx+x*x, xy+x*y, yy+y*y
	}
	along := math.Atan2(2*xy, xx-yy) / 2
	if math.Cos(along)*(to[0]-from[0])+math.Sin(along)*(to[1]-from[1]) < 0 {
		along += math.Pi
	}
	r := run{angle: along - math.Pi/2, length: math.Hypot(to[0]-from[0], to[1]-from[1]), x: mx, y: my, endX: to[0], endY: to[1]}
	r.ny, r.nx = math.Sincos(r.angle)
	r.doubt = 0.35 * cell * math.Sqrt(12/max(n, 2)) / max(r.length, cell)
	return r
}

// shareDirections gives every run a direction of m and a quarter: the longest first, each joins the direction it differs from by less
// than three standard errors and twelve degrees, or founds one. Directions are then the mean of their runs, weighted by the information of the
// slope, which goes with length cubed.
func (m *model) shareDirections(all []*run) {
	order := slices.Clone(all)
	slices.SortStableFunc(order, func(a, b *run) int { return cmp.Compare(b.length, a.length) })
	const quarter = math.Pi / 2
	var sums, weights []float64
	for _, r := range order {
		best, least := -1, min(3*r.doubt, 0.21)
		for g, t := range m.theta {
			if off := math.Abs(math.Remainder(r.angle-t, quarter)); off < least {
				best, least = g, off
			}
		}
		if best < 0 {
			best = len(m.theta)
			m.theta, sums, weights = append(m.theta, r.angle), append(sums, 0), append(weights, 0)
		}
		w := r.length * r.length * r.length
		sums[best] += w * math.Remainder(r.angle-m.theta[best], quarter)
		weights[best] += w
		r.edge.family = best
	}
	for g := range m.theta {
		m.theta[g] += sums[g] / weights[g]
	}
	for _, r := range all {
		r.edge.quarter = int(math.Round((r.angle-m.theta[r.edge.family])/quarter)+8) & 3
		nx, ny := normal(m.theta[r.edge.family], r.edge.quarter)
		r.edge.offset = nx*r.x + ny*r.y
	}
}

// joinRuns makes a ring of runs: runs that go on along one line are joined, parallel ones get an edge across between them.
func (m *model) joinRuns(part []*run, cell float64) []edge {
	var ring []edge
	kept := joinStraight(part, cell)
	for i, r := range kept {
		q := kept[(i+1)%len(kept)]
		ring = append(ring, r.edge)
		nx, ny := normal(m.theta[r.edge.family], r.edge.quarter)
		ox, oy := normal(m.theta[q.edge.family], q.edge.quarter)
		if math.Abs(nx*oy-ny*ox) > 0.15 {
			continue
		}
		across := 1 // the normal of the edge between, in quarters from that of r
		if nx*ox+ny*oy > 0 && q.edge.offset > r.edge.offset || nx*ox+ny*oy < 0 && q.edge.offset+r.edge.offset < 0 {
			across = 3
		}
		e := edge{family: r.edge.family, quarter: (r.edge.quarter + across) & 3}
		nx, ny = normal(m.theta[e.family], e.quarter)
		e.offset = nx*r.endX + ny*r.endY
		ring = append(ring, e)
	}
	return ring
}

// joinStraight joins neighbouring runs of nearly one line: parallel to a tenth, and less than three quarters of a cell apart where they meet.
func joinStraight(part []*run, cell float64) []*run {
	kept := slices.Clone(part)
	for i := 0; i < len(kept) && len(kept) > 3; {
		a, b := kept[i], kept[(i+1)%len(kept)]
		apart := math.Abs(a.nx*(b.x-a.x) + a.ny*(b.y-a.y))
		if a.nx*b.nx+a.ny*b.ny < 0.99 || apart > 0.75*cell {
			i++
			continue
		}
		long, w := a, a.length/(a.length+b.length)
		if b.length > a.length {
			long = b
		}
		joined := *long
		joined.length, joined.endX, joined.endY = a.length+b.length, b.endX, b.endY
		joined.edge.offset += (joined.nx*(w*a.x+(1-w)*b.x) + joined.ny*(w*a.y+(1-w)*b.y)) - (joined.nx*long.x + joined.ny*long.y)
		joined.x, joined.y = w*a.x+(1-w)*b.x, w*a.y+(1-w)*b.y
		kept[i] = &joined
		j := (i + 1) % len(kept)
		kept = slices.Delete(kept, j, j+1)
		if j < i {
			i--
		}
	}
	return kept
}

// repair drops edges that run backwards, the worst first, until none does or a ring would fall apart. Neighbours that are then parallel
// become one.
func (m *model) repair() {
	for range 4 * m.edgeCount() {
		spans := m.spans(0, nil)
		worst := -1
		for i := range spans {
			if l := spans[i].length(); !(l > 0) && (worst < 0 || !(l >= spans[worst].length())) {
				worst = i
			}
		}
		if worst < 0 {
			return
		}
		s := &spans[worst]
		ring := m.rings[s.ring]
		n := len(ring)
		if n <= 3 {
			return
		}
		rest := turned(ring, s.index+1, n-1)
		p, q := &rest[len(rest)-1], &rest[0]
		if p.family == q.family && p.quarter == q.quarter {
			p.offset = (p.offset + q.offset) / 2
			rest = rest[1:]
		}
		m.rings[s.ring] = rest
	}
}

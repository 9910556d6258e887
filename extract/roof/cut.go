package roof

import (
	"cmp"
	"math"
	"slices"
)

// A cutLine is a straight upright plane that parts a surface: places whose
// distance along the normal is below at lie on one side.
type cutLine struct{ nx, ny, at float64 }

func (l cutLine) beyond(x, y float64) float64 { return l.nx*x + l.ny*y - l.at }

// cutSurfaces parts surfaces at the steps that they hide. Two parallel roofs
// with a step between come out as one surface when a few returns blended at
// the step bridge it; and where the façades of two houses are offset by just
// as much as their heights, the slopes on one side lie in one plane while
// those on the other are stepped.
func (s *segmenter) cutSurfaces() {
	s.parent = make([]int32, len(s.surfaces))
	for k := range s.parent {
		s.parent[k] = -1
	}
	s.apart = make(map[[2]int32]bool)
	if s.cutAt(s.hiddenSteps(), false) {
		s.remeasure()
	}
	if s.cutAt(s.carriedSteps(), true) {
		s.remeasure()
	}
	s.severAcross()
}

// remeasure works out surfaces and patches again after points have changed
// theirs.
func (s *segmenter) remeasure() {
	s.surfaces = make([]smooth, len(s.parent))
	s.patches = s.patches[:0]
	s.makePatches()
	s.measureSurfaces()
}

// cutAt gives the points of each surface beyond its lines to new surfaces,
// which are severed from each other when sever is set, and reports whether any
// surface was cut.
func (s *segmenter) cutAt(lines [][]cutLine, sever bool) bool {
	type piece struct {
		surface int32
		sides   string
	}
	number := make(map[piece]int32)
	sides := make([]byte, 0, 16)
	any := false
	for h := range int32(len(s.high)) {
		g := s.group[h]
		if g < 0 || len(lines[g]) == 0 {
			continue
		}
		p := &s.block.Points[s.id(h)]
		sides = sides[:0]
		for _, l := range lines[g] {
			if l.beyond(p.East(), p.North()) < 0 {
				sides = append(sides, '0')
			} else {
				sides = append(sides, '1')
			}
		}
		key := piece{g, string(sides)}
		n, known := number[key]
		if !known {
			// points come in canonical order, so the numbers follow from them
			n = int32(len(s.parent))
			parent := int32(-1)
			if sever {
				parent = g
			}
			s.parent = append(s.parent, parent)
			number[key], any = n, true
		}
		s.group[h] = n
	}
	return any
}

// severed reports whether two surfaces are pieces of one that was cut where
// others have a step, or lie on either side of such a step already.
func (s *segmenter) severed(a, b int32) bool {
	return s.parent[a] >= 0 && s.parent[a] == s.parent[b] || s.apart[[2]int32{min(a, b), max(a, b)}]
}

// leastStep is the least length of a step between two buildings, in metres:
// less than the depth of the slope of any house.
const leastStep = 3.0

// hiddenSteps finds for each surface the straight steps inside it, which run
// down its slope or, where it is level, along the sides of the smallest
// rectangle about it.
func (s *segmenter) hiddenSteps() [][]cutLine {
	lines := make([][]cutLine, len(s.surfaces))
	members := s.members(func(k int32) bool {
		f := &s.surfaces[k]
		return f.kept && f.area >= 2*s.options.MinPart
	})
	for k, list := range members {
		if len(list) == 0 {
			continue
		}
		f := &s.surfaces[k]
		if g := math.Hypot(f.gx, f.gy); g > 0.1 {
			lines[k] = s.stepsAlong(f, list, -f.gy/g, f.gx/g)
			continue
		}
		places := make([][2]float64, len(list))
		for i, h := range list {
			p := &s.block.Points[s.id(h)]
			places[i] = [2]float64{p.East(), p.North()}
		}
		b := smallestBox(places)
		lines[k] = s.stepsAlong(f, list, b.dx, b.dy)
		lines[k] = append(lines[k], s.stepsAlong(f, list, -b.dy, b.dx)...)
	}
	return lines
}

// members lists the high points of the surfaces that are wanted.
func (s *segmenter) members(wanted func(k int32) bool) [][]int32 {
	take := make([]bool, len(s.surfaces))
	for k := range take {
		take[k] = wanted(int32(k))
	}
	list := make([][]int32, len(s.surfaces))
	for h := range int32(len(s.high)) {
		if g := s.group[h]; g >= 0 && take[g] {
			list[g] = append(list[g], h)
		}
	}
	return list
}

// A residual is a point of a surface: its place along and across the
// direction in which steps are looked for, and its height over the mean plane.
type residual struct{ u, v, e float64 }

// stepsAlong finds the steps of a surface that are met on the way along
// (ux, uy).
func (s *segmenter) stepsAlong(f *smooth, list []int32, ux, uy float64) []cutLine {
	rs := make([]residual, len(list))
	for i, h := range list {
		p := &s.block.Points[s.id(h)]
		dx, dy := p.East()-f.x, p.North()-f.y
		rs[i] = residual{ux*dx + uy*dy, -uy*dx + ux*dy, p.Up() - f.z - f.gx*dx - f.gy*dy}
	}
	slices.SortStableFunc(rs, func(a, b residual) int { return cmp.Compare(a.u, b.u) })
	scan := newStepScan(rs, s.limits)
	var lines []cutLine
	for _, u := range scan.steps() {
		lines = append(lines, cutLine{ux, uy, ux*f.x + uy*f.y + u})
	}
	return lines
}

// A stepScan looks for places along a surface at which its height changes at
// once, all across.
type stepScan struct {
	rs     []residual // by u
	window float64    // how far on either side heights are compared
	blend  float64    // how close to the step returns may be blended
	row    float64    // width of a row across
	step   float64
	v0     float64
	rows   int
	sums   [2][]moment1
}

// A moment1 sums values.
type moment1 struct{ n, e, ee float64 }

func newStepScan(rs []residual, l limits) *stepScan {
	c := &stepScan{
		rs: rs, window: max(1.5, 4*l.spacing), blend: max(0.15, 0.5*l.spacing),
		row: max(1, 2.5*l.spacing), step: l.step,
	}
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, r := range rs {
		lo, hi = min(lo, r.v), max(hi, r.v)
	}
	c.v0, c.rows = lo, int((hi-lo)/c.row)+1
	c.sums = [2][]moment1{make([]moment1, c.rows), make([]moment1, c.rows)}
	return c
}

// steps returns the places of the steps, those of the strongest of each
// window.
func (c *stepScan) steps() []float64 {
	const stride = 0.1
	first, last := c.rs[0].u+1, c.rs[len(c.rs)-1].u-1
	var found []float64
	best := 0.0
	for u := first; u <= last; u += stride {
		d := c.at(u)
		if d == 0 {
			continue
		}
		if n := len(found); n > 0 && u-found[n-1] < c.window {
			if d > best {
				found[n-1], best = u, d
			}
			continue
		}
		found, best = append(found, u), d
	}
	return found
}

// at returns the mean height of the step at a place; 0 where there is none.
func (c *stepScan) at(u float64) float64 {
	for side := range c.sums {
		clear(c.sums[side])
	}
	from, _ := slices.BinarySearchFunc(c.rs, u-c.window, func(r residual, u float64) int { return cmp.Compare(r.u, u) })
	for _, r := range c.rs[from:] {
		d := r.u - u
		if d > c.window {
			break
		}
		side := 0
		if d > 0 {
			side = 1
		}
		if math.Abs(d) < c.blend {
			continue
		}
		m := &c.sums[side][min(int((r.v-c.v0)/c.row), c.rows-1)]
		m.n++
		m.e += r.e
		m.ee += r.e * r.e
	}
	both, up, down, sum := 0, 0, 0, 0.0
	for i := range c.rows {
		a, b := &c.sums[0][i], &c.sums[1][i]
		if a.n < 3 || b.n < 3 {
			continue
		}
		both++
		d := b.e/b.n - a.e/a.n
		if math.Abs(d) < c.step || max(a.spread(), b.spread()) > 0.35*math.Abs(d) {
			continue
		}
		sum += math.Abs(d)
		if d > 0 {
			up++
		} else {
			down++
		}
	}
	if most := max(up, down); float64(both)*c.row < leastStep || 10*most < 7*both {
		return 0
	}
	return sum / float64(up+down)
}

func (m *moment1) spread() float64 {
	mean := m.e / m.n
	return math.Sqrt(max(m.ee/m.n-mean*mean, 0))
}

// carriedSteps finds the surfaces that run on past a step between two others,
// each of which they continue: the line of the step parts them too.
func (s *segmenter) carriedSteps() [][]cutLine {
	lines := make([][]cutLine, len(s.surfaces))
	joints := s.joints()
	beside := make(map[int32][]int32) // the surfaces that each one continues
	for i := range joints {
		if j := &joints[i]; s.continues(j) {
			beside[j.a] = append(beside[j.a], j.b)
			beside[j.b] = append(beside[j.b], j.a)
		}
	}
	for i := range joints {
		j := &joints[i]
		if !s.wallLike(j) || min(s.surfaces[j.a].area, s.surfaces[j.b].area) < s.options.MinPart {
			continue
		}
		l := s.lineOf(j)
		for _, k := range beside[j.a] {
			if slices.Contains(beside[j.b], k) && s.parts(l, j, k) {
				lines[k] = append(lines[k], l)
			}
		}
	}
	return lines
}

// severAcross severs pairs of surfaces that meet along the line of a step
// between two others, each of which continues one of them: where façades are
// offset, slopes on one side come close to a common plane.
func (s *segmenter) severAcross() {
	joints := s.joints()
	beside := make(map[int32][]int32)
	for i := range joints {
		if j := &joints[i]; s.continues(j) {
			beside[j.a] = append(beside[j.a], j.b)
			beside[j.b] = append(beside[j.b], j.a)
		}
	}
	for i := range joints {
		j := &joints[i]
		if !s.wallLike(j) || min(s.surfaces[j.a].area, s.surfaces[j.b].area) < s.options.MinPart {
			continue
		}
		l := s.lineOf(j)
		for k := range joints {
			q := &joints[k]
			if s.across(l, j, q) && (slices.Contains(beside[j.a], q.a) && slices.Contains(beside[j.b], q.b) ||
				slices.Contains(beside[j.a], q.b) && slices.Contains(beside[j.b], q.a)) {
				s.apart[[2]int32{q.a, q.b}] = true
			}
		}
	}
}

// across reports whether the second joint carries on the line of the first,
// with its surfaces on either side.
func (s *segmenter) across(l cutLine, j, q *joint) bool {
	a, b := &s.surfaces[q.a], &s.surfaces[q.b]
	m := &q.places
	x0, y0 := s.middle()
	along, across := m.spreads()
	long, _ := j.places.spreads()
	return q != j && along*math.Sqrt(12) >= leastStep && across <= 0.75*s.limits.cell && along < 2*long &&
		math.Abs(l.beyond(m.x/m.n+x0, m.y/m.n+y0)) < s.limits.cell &&
		l.beyond(a.x, a.y)*l.beyond(b.x, b.y) < 0
}

// wallLike reports whether a joint is a straight step as long as the slope of
// a house, or a gap.
func (s *segmenter) wallLike(j *joint) bool {
	along, across := j.places.spreads()
	return 10*j.level <= j.n && along*math.Sqrt(12) >= leastStep && across <= 0.75*s.limits.cell
}

// lineOf returns the line along which two surfaces meet: the longer axis of
// the places' moments.
func (s *segmenter) lineOf(j *joint) (l cutLine) {
	m := &j.places
	x, y := m.x/m.n, m.y/m.n
	xx, xy, yy := m.xx/m.n-x*x, m.xy/m.n-x*y, m.yy/m.n-y*y
	along := math.Atan2(2*xy, xx-yy) / 2
	l.nx, l.ny = -math.Sin(along), math.Cos(along)
	x0, y0 := s.middle()
	l.at = l.nx*(x+x0) + l.ny*(y+y0)
	return l
}

// parts reports whether a line leaves enough of a surface on either side, the
// two stepped ones lie on different sides, and the step is at least a third of
// the line's way through both.
func (s *segmenter) parts(l cutLine, j *joint, k int32) bool {
	a, b := &s.surfaces[j.a], &s.surfaces[j.b]
	if l.beyond(a.x, a.y)*l.beyond(b.x, b.y) >= 0 {
		return false
	}
	sides := [2]int{}
	lo, hi := math.Inf(1), math.Inf(-1)
	for i := range s.patches {
		p := &s.patches[i]
		if p.surface != k {
			continue
		}
		d := l.beyond(p.x, p.y)
		if d < 0 {
			sides[0] += int(p.n)
		} else {
			sides[1] += int(p.n)
		}
		if math.Abs(d) < 1 {
			v := -l.ny*p.x + l.nx*p.y
			lo, hi = min(lo, v), max(hi, v)
		}
	}
	along, _ := j.places.spreads()
	return s.areaOf(min(sides[0], sides[1])) >= s.options.MinPart && along*math.Sqrt(12) >= (hi-lo)/2
}

package roof

import (
	"cmp"
	"math"
	"slices"
)

// A meeting is one place where two surfaces come next to each other.
type meeting struct {
	a, b int32   // surfaces, a < b
	x, y float64 // middle between the two
	step float64 // height of a above b there, both carried on to it
	sure bool    // between cells that hold roof-like points of both
	gap  bool    // ground is seen between
	fold bool    // they slope differently, as on either side of a valley
}

// A joint is all the meetings of two surfaces or parts.
type joint struct {
	a, b   int32
	n      int
	level  int     // meetings without a step
	folds  int     // meetings of different slopes
	sure   int     // meetings that tell of gaps
	gaps   int     // those of them that show one
	rise   float64 // sum of the steps' heights
	places moments // of all meetings
	levels moments // of those without a step
	tell   moments // of those that tell of gaps
	deep   moments // of those that show one
}

// moments are sums over places, from the middle of the grid.
type moments struct{ n, x, y, xx, xy, yy float64 }

func momentsAt(x, y float64) moments { return moments{1, x, y, x * x, x * y, y * y} }

func (m *moments) add(o *moments) {
	m.n, m.x, m.y = m.n+o.n, m.x+o.x, m.y+o.y
	m.xx, m.xy, m.yy = m.xx+o.xx, m.xy+o.xy, m.yy+o.yy
}

// spreads returns the standard deviations of the places along and across their
// line; 0 of none.
func (m *moments) spreads() (along, across float64) {
	if m.n == 0 {
		return 0, 0
	}
	mx, my := m.x/m.n, m.y/m.n
	xx, xy, yy := m.xx/m.n-mx*mx, m.xy/m.n-mx*my, m.yy/m.n-my*my
	half, root := (xx+yy)/2, math.Sqrt((xx-yy)*(xx-yy)/4+xy*xy)
	return math.Sqrt(max(half+root, 0)), math.Sqrt(max(half-root, 0))
}

func (j *joint) add(o *joint) {
	j.n, j.level, j.sure, j.gaps = j.n+o.n, j.level+o.level, j.sure+o.sure, j.gaps+o.gaps
	j.rise += o.rise
	j.folds += o.folds
	j.places.add(&o.places)
	j.levels.add(&o.levels)
	j.tell.add(&o.tell)
	j.deep.add(&o.deep)
}

// gapExtent is the share of a joint's length over which a gap must be seen
// between roofs that slope differently: of two wings the ends of a valley show
// what is below, and no more.
const gapExtent = 0.4

// gap reports whether returns from below are seen along much more of a joint
// than they are inside roofs, and not at an end of it only. A narrow gap is seen
// into only here and there; a roof that runs on shows none but at a joint's
// ends.
func (s *segmenter) gap(j *joint) bool {
	if float64(j.gaps) <= (1.0/3+s.pierced)*float64(j.sure) {
		return false
	}
	deep, _ := j.deep.spreads()
	all, _ := j.tell.spreads()
	return 2*j.folds < j.n || deep >= gapExtent*all
}

// continues reports whether one side runs on into the other: without a step
// along a third of the joint, and along more than the corner at which four
// roofs meet.
func (s *segmenter) continues(j *joint) bool {
	along, _ := j.levels.spreads()
	return !s.gap(j) && 10*j.level >= 3*j.n && along*math.Sqrt(12) >= 2.5*s.limits.cell
}

// assemble decides which surfaces make a building. Surfaces that continue
// each other make a part; parts too small to stand alone join a neighbour;
// parts parted by a straight step that runs from outline to outline, or by a
// gap, stay apart, but for a lower part that is built onto a building.
func (s *segmenter) assemble() {
	s.part = make([]int32, len(s.surfaces))
	u := newUnion(len(s.surfaces))
	s.pierced = s.piercedShare()
	base := s.joints()
	for i := range base {
		if j := &base[i]; s.continues(j) {
			u.join(j.a, j.b)
		}
	}
	s.absorb(u, base)
	s.unsplit(u, base)
	s.keepParts(u, base)
	s.numberParts(u)
}

// piercedShare returns the share of cells inside a roof that show what is
// below: none but where the roof is of glass or mesh.
func (s *segmenter) piercedShare() float64 {
	top := s.topSurfaces()
	inside, deep := 0, 0
	for c, k := range top {
		if k < 0 {
			continue
		}
		open := false
		for _, d := range s.neighbours() {
			open = open || top[c+d] < 0
		}
		if open {
			continue
		}
		inside++
		for _, p := range s.patchesOf(c) {
			if p.surface == k && s.depth[c] < float32(p.z-gapDepth) {
				deep++
			}
		}
	}
	return float64(deep) / float64(max(inside, 1))
}

// numberParts numbers the buildings in the order of their first surface.
func (s *segmenter) numberParts(u union) {
	of := make(map[int32]int32)
	for k := range s.part {
		s.part[k] = -1
		if !s.surfaces[k].kept {
			continue
		}
		r := u.root(int32(k))
		if _, ok := of[r]; !ok {
			of[r] = int32(len(of))
		}
		s.part[k] = of[r]
	}
	s.units = len(of)
}

// meet lists the places where kept surfaces come next to each other: in one
// cell, in neighbouring cells, or with one cell between that shows no roof, as
// where a wall hides the foot of the roof beside it.
func (s *segmenter) meet() []meeting {
	var list []meeting
	for k := range s.patches {
		p := &s.patches[k]
		if !s.surfaces[p.surface].kept {
			continue
		}
		row, col := int(p.cell)/s.grid.Cols, int(p.cell)%s.grid.Cols
		for dr := -reach; dr <= reach; dr++ {
			for dc := -reach; dc <= reach; dc++ {
				if row+dr < 0 || row+dr >= s.grid.Rows || col+dc < 0 || col+dc >= s.grid.Cols {
					continue
				}
				list = s.meetCell(list, p, [2]int{dr, dc})
			}
		}
	}
	return list
}

// meetCell lists the meetings of a patch with those of the cell so many rows
// and columns away.
func (s *segmenter) meetCell(list []meeting, p *patch, away [2]int) []meeting {
	other := int(p.cell) + away[0]*s.grid.Cols + away[1]
	between := int(p.cell) + away[0]/2*s.grid.Cols + away[1]/2
	far := between != int(p.cell) // two cells away
	if far && s.first[between] < s.first[between+1] {
		return list
	}
	for k := range s.patchesOf(other) {
		q := &s.patchesOf(other)[k]
		if q.surface <= p.surface || !s.surfaces[q.surface].kept {
			continue
		}
		x, y := (p.x+q.x)/2, (p.y+q.y)/2
		middle, _ := s.grid.Index(x, y)
		depth := s.depth[middle]
		if far {
			depth = min(depth, s.depth[p.cell], s.depth[between], s.depth[other])
		}
		list = append(list, meeting{
			a: p.surface, b: q.surface, x: x, y: y, step: stepOf(p, q),
			sure: p.own > 0 && q.own > 0, fold: math.Hypot(p.gx-q.gx, p.gy-q.gy) > 2*bend, gap: depth < float32(min(p.z, q.z)-gapDepth),
		})
	}
	return list
}

// gapDepth is how far below two roofs, in metres, a return must lie to have
// passed between them: below a gutter or a valley's floor.
const gapDepth = 1.2

// stepOf returns the least height of one patch above another, both carried on
// to the other's place; 0 when they cross on the way, as at a ridge.
func stepOf(p, q *patch) float64 {
	a, b := p.z-q.at(p.x, p.y), p.at(q.x, q.y)-q.z
	switch {
	case a*b <= 0:
		return 0
	case math.Abs(a) < math.Abs(b):
		return a
	}
	return b
}

// joints sums the meetings by pairs of surfaces, in their order.
func (s *segmenter) joints() []joint {
	meetings := s.meet()
	slices.SortStableFunc(meetings, func(p, q meeting) int { return cmp.Or(cmp.Compare(p.a, q.a), cmp.Compare(p.b, q.b)) })
	x0, y0 := s.middle()
	var list []joint
	for _, m := range meetings {
		j := joint{a: m.a, b: m.b, n: 1, rise: math.Abs(m.step), places: momentsAt(m.x-x0, m.y-y0)}
		if math.Abs(m.step) <= s.limits.step && !s.severed(m.a, m.b) {
			j.level, j.levels = 1, j.places
		}
		if m.fold {
			j.folds = 1
		}
		if m.sure {
			j.sure, j.tell = 1, j.places
			if m.gap {
				j.gaps, j.deep = 1, j.places
			}
		}
		list = append(list, j)
	}
	return compact(list)
}

// middle returns the middle of the grid, from which moments are taken.
func (s *segmenter) middle() (x, y float64) {
	b := s.grid.Bounds()
	return (b.MinX + b.MaxX) / 2, (b.MinY + b.MaxY) / 2
}

// compact adds up the joints of equal pairs, which stand together.
func compact(list []joint) []joint {
	out := list[:0]
	for _, j := range list {
		if n := len(out); n > 0 && out[n-1].a == j.a && out[n-1].b == j.b {
			out[n-1].add(&j)
		} else {
			out = append(out, j)
		}
	}
	return out
}

// merged returns the joints of the sets that surfaces have been joined to.
func merged(base []joint, u union) []joint {
	var list []joint
	for _, j := range base {
		a, b := u.root(j.a), u.root(j.b)
		if a != b {
			j.a, j.b = min(a, b), max(a, b)
			list = append(list, j)
		}
	}
	slices.SortStableFunc(list, func(p, q joint) int { return cmp.Or(cmp.Compare(p.a, q.a), cmp.Compare(p.b, q.b)) })
	return compact(list)
}

// A partMeasure is what is known of one part while parts are joined.
type partMeasure struct {
	area, height  float64
	gx, gy, level float64 // mean gradient and elevation
}

func (s *segmenter) partMeasures(u union) []partMeasure {
	list := make([]partMeasure, len(u))
	for k := range s.surfaces {
		f := &s.surfaces[k]
		if !f.kept {
			continue
		}
		p := &list[u.root(int32(k))]
		p.area += f.area
		p.height = max(p.height, f.height)
		p.gx += f.area * f.gx
		p.gy += f.area * f.gy
		p.level += f.area * f.z
	}
	for k := range list {
		if p := &list[k]; p.area > 0 {
			p.gx, p.gy, p.level = p.gx/p.area, p.gy/p.area, p.level/p.area
		}
	}
	return list
}

// sawtooth reports whether two parts are teeth of one roof: they slope the
// same way, across the joint, and are equally high. Houses in a row slope
// along it.
func (s *segmenter) sawtooth(j *joint, p, q *partMeasure) bool {
	slope := math.Hypot(p.gx, p.gy)
	l := s.lineOf(j)
	return slope > 0.1 && math.Hypot(p.gx-q.gx, p.gy-q.gy) < 0.1 && math.Abs(p.level-q.level) < 2*s.limits.step &&
		math.Abs(l.nx*p.gx+l.ny*p.gy) > 0.9*slope
}

// absorb joins each part that is too small to stand alone to the neighbour
// that it touches most: dormers, chimneys, plant, porches. A part that is too
// low for a roof is no part of one either.
func (s *segmenter) absorb(u union, base []joint) {
	for joined := true; joined; {
		measures := s.partMeasures(u)
		into := make(map[int32]joint)
		list := merged(base, u)
		for _, j := range list {
			if s.gap(&j) || min(measures[j.a].height, measures[j.b].height) < s.options.MinHeight {
				continue
			}
			for _, r := range [2]int32{j.a, j.b} {
				if measures[r].area < s.options.MinPart && j.n > into[r].n {
					into[r] = j
				}
			}
		}
		for _, j := range list {
			for _, r := range [2]int32{j.a, j.b} {
				if t := into[r]; t.n > 0 && t.a == j.a && t.b == j.b {
					u.join(j.a, j.b)
				}
			}
		}
		joined = len(into) > 0
	}
}

// unsplit joins neighbouring parts again whose step is not that between two
// buildings: it is not straight, or one of the parts lies inside the other's
// outline.
func (s *segmenter) unsplit(u union, base []joint) {
	for joined := true; joined; {
		joined = false
		outer := s.outerShares(u)
		measures := s.partMeasures(u)
		for _, j := range merged(base, u) {
			if s.gap(&j) || min(measures[j.a].height, measures[j.b].height) < s.options.MinHeight {
				continue
			}
			_, across := j.places.spreads()
			stepped := 10*(j.n-j.level) >= 7*j.n && across <= 0.75*s.limits.cell
			if !stepped || min(outer[j.a], outer[j.b]) < outerLeast || s.sawtooth(&j, &measures[j.a], &measures[j.b]) {
				u.join(j.a, j.b)
				joined = true
			}
		}
	}
}

// outerLeast is the share of a part's edge that is also an edge of the whole:
// a house in a row of equal square ones has a half, one of 5 m by 12 m three
// tenths, of which neighbours that stand forward take some; a penthouse set
// back has none, and one flush with a side has steps that are not straight.
const outerLeast = 0.15

// outerShares returns for each part the share of its edge that does not lie
// against another part.
func (s *segmenter) outerShares(u union) []float64 {
	top := s.topSurfaces()
	edge, open := make([]float64, len(u)), make([]float64, len(u))
	for c, k := range top {
		if k < 0 {
			continue
		}
		r := u.root(k)
		for _, d := range [4]int{-1, 1, -s.grid.Cols, s.grid.Cols} {
			q := top[c+d]
			if q >= 0 && u.root(q) == r {
				continue
			}
			edge[r]++
			if q < 0 && !s.nearOther(top, u, c+d, r) {
				open[r]++
			}
		}
	}
	for r := range open {
		open[r] /= max(edge[r], 1)
	}
	return open
}

// nearOther reports whether a cell without a roof is next to one of another
// part: an unseen strip at the foot of a wall.
func (s *segmenter) nearOther(top []int32, u union, c int, r int32) bool {
	for _, d := range [4]int{-1, 1, -s.grid.Cols, s.grid.Cols} {
		if q := at(top, c+d); q >= 0 && u.root(q) != r {
			return true
		}
	}
	return false
}

func at(top []int32, c int) int32 {
	if c < 0 || c >= len(top) {
		return -1
	}
	return top[c]
}

// topSurfaces returns for each cell its kept surface with the most points, -1
// for none.
func (s *segmenter) topSurfaces() []int32 {
	top := make([]int32, s.grid.Len())
	for c := range top {
		top[c] = -1
		var most int32
		for _, p := range s.patchesOf(c) {
			if s.surfaces[p.surface].kept && p.n > most {
				top[c], most = p.surface, p.n
			}
		}
	}
	return top
}

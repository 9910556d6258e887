package roof

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"

	"quoin/extract/cloud"
)

// A lie tells how the roof runs about a point: the gradient of its surface and
// the root mean square residual.
type lie struct{ gx, gy, rough float32 }

// facetSolid is the share of all that is seen about a facet, in its cells, that
// must lie on it.
const facetSolid = 0.6

// facetLeast is the least number of points on a facet.
const facetLeast = 8

// facetTrials is the number of planes tried through a point: where a third of
// its neighbours lie on the facet, one of nine pairs does, and 40 pairs miss it
// once in a hundred.
const facetTrials = 40

// facetNear bounds the neighbours that a plane is tried on.
const facetNear = 48

// A facet is a plane found among points that no surface holds.
type facet struct {
	plane
	at   int32 // the high point that it goes through
	on   int   // neighbours on it
	seed int   // place among the candidates
}

// fillFacets finds what the local surfaces miss beside those that were found:
// narrow slopes between a ridge, a valley and an eave, where no neighbourhood
// is of one surface, and places that few pulses met. Points that lie on a
// kept surface carried on join it; among the rest planes are looked for that
// many of them lie on (Fischler & Bolles 1981), that hold most of what is seen
// there, and that run on into a kept surface without a step, as leaves beside a
// roof do not. A
// second round finds what runs on into the first. Where points are denser than
// every 0.4 m a neighbourhood is narrower than such slopes are.
func (s *segmenter) fillFacets() {
	if s.limits.radius < foldRadius {
		return
	}
	for range 2 {
		if !slices.ContainsFunc(s.surfaces, smooth.carries) {
			return
		}
		s.growKept()
		found := s.findFacets()
		s.surfaces = make([]smooth, len(s.surfaces)+found)
		s.patches = s.patches[:0]
		s.makePatches()
		s.measureSurfaces()
		if found == 0 {
			return
		}
	}
}

// last reports whether a high point is the last return of its pulse, as on
// anything hard.
func (s *segmenter) last(h int32) bool {
	p := &s.block.Points[s.id(h)]
	return p.Return() == p.Returns()
}

func (s *segmenter) onKept(h int32) bool { return s.group[h] >= 0 && s.surfaces[s.group[h]].kept }

// carries reports whether facets may run on into a surface: one that is kept and
// not level, low and small, as the top of a truck or a container is. What stands
// about one of those, and beside the next, would make a roof of them.
func (f smooth) carries() bool {
	vehicle := math.Hypot(f.gx, f.gy) < level && f.height < vehicleHeight && f.area < vehicleWidth*vehicleLength
	return f.kept && !vehicle
}

func (s *segmenter) onCarrier(h int32) bool {
	return s.group[h] >= 0 && s.surfaces[s.group[h]].carries()
}

// growKept gives the points that lie on a kept surface that carries facets,
// carried on from a point within reach, to it.
func (s *segmenter) growKept() {
	x, place := s.indexOf(s.onCarrier)
	type found struct{ h, from int32 }
	var list []found
	for h := range int32(len(s.high)) {
		if s.onKept(h) || !s.last(h) {
			continue
		}
		if from, e := s.carrier(x, place, h); e < s.limits.inlier {
			list = append(list, found{h, from})
		}
	}
	for _, f := range list {
		s.group[f.h], s.lies[f.h], s.grown[f.h] = s.group[f.from], s.lies[f.from], true
	}
}

// findFacets gives points to new surfaces, the largest first, and returns how
// many there are.
func (s *segmenter) findFacets() int {
	near := s.besideKept()
	x, place := s.indexOf(func(h int32) bool { return !s.onKept(h) && s.last(h) && near[s.cellOf(s.id(h))] })
	if len(place) < facetLeast {
		return 0
	}
	f := facetFinder{s: s, x: x, place: place, taken: make([]bool, len(place))}
	f.lookup()
	found := 0
	group := slices.Clone(s.group) // what surfaces are is known of the old ones only
	f.group = group
	for _, c := range f.candidates() {
		if f.taken[c.seed] {
			continue
		}
		if members, p, ok := f.grow(c); ok {
			for _, k := range members {
				h := place[k]
				f.taken[k] = true
				group[h] = int32(len(s.surfaces) + found)
				s.lies[h] = lie{float32(p.gx), float32(p.gy), float32(p.rms)}
			}
			found++
		}
	}
	s.group = group
	return found
}

// besideKept marks the cells within reach of kept surfaces that carry facets.
func (s *segmenter) besideKept() []bool {
	near := make([]bool, s.grid.Len())
	r := int(math.Ceil(facetReach / s.grid.Cell))
	for k := range s.patches {
		p := &s.patches[k]
		if !s.surfaces[p.surface].carries() {
			continue
		}
		row, col := int(p.cell)/s.grid.Cols, int(p.cell)%s.grid.Cols
		for rr := max(row-r, 0); rr <= min(row+r, s.grid.Rows-1); rr++ {
			for cc := max(col-r, 0); cc <= min(col+r, s.grid.Cols-1); cc++ {
				near[rr*s.grid.Cols+cc] = true
			}
		}
	}
	return near
}

// facetReach is how far from a kept surface, in metres, facets are looked for:
// they begin beside it and are narrow.
const facetReach = 4.0

// A facetFinder looks for facets among candidates.
type facetFinder struct {
	s     *segmenter
	x     *index
	place []int32 // of each candidate its high point
	taken []bool  // of each candidate
	group []int32 // of each high point its surface, those found so far included
	spots []spot  // of each candidate, by its place
}

// lookup lists the candidates' spots by their places.
func (f *facetFinder) lookup() {
	f.spots = make([]spot, len(f.place))
	for _, q := range f.x.spots {
		f.spots[q.at] = q
	}
}

// An offset is a candidate by its place, and where it lies from another.
type offset struct {
	k       int32
	x, y, z float64
}

// around lists the candidates within a distance of one in plan and not taken,
// the nearest first, at most as many as asked for.
func (f *facetFinder) around(p *spot, radius float64, most int) []offset {
	r := steps(radius)
	limit := int64(r) * int64(r)
	w := f.x.window(p.x, p.y, r)
	var list []offset
	for row := w.row0; row <= w.row1; row++ {
		for _, q := range f.x.row(w, row) {
			dx, dy := int64(q.x-p.x), int64(q.y-p.y)
			if dx*dx+dy*dy <= limit && !f.taken[q.at] {
				list = append(list, offset{q.at, float64(dx) * cloud.Step, float64(dy) * cloud.Step, float64(q.z-p.z) * cloud.Step})
			}
		}
	}
	if len(list) <= most {
		return list
	}
	slices.SortFunc(list, func(a, b offset) int {
		return cmp.Or(cmp.Compare(a.x*a.x+a.y*a.y, b.x*b.x+b.y*b.y), cmp.Compare(a.k, b.k))
	})
	return list[:most]
}

// candidates returns the best plane through each of enough points, those that
// hold most first.
func (f *facetFinder) candidates() []facet {
	var list []facet
	stride := max(1, int(math.Round(0.09*f.s.limits.density)))
	for k := 0; k < len(f.place); k += stride {
		if c, ok := f.best(k); ok {
			list = append(list, c)
		}
	}
	slices.SortStableFunc(list, func(a, b facet) int { return cmp.Compare(b.on, a.on) })
	return list
}

// best returns the plane through a candidate that most of its neighbours lie
// on.
func (f *facetFinder) best(seed int) (facet, bool) {
	near := f.around(&f.spots[seed], max(1.2, 4*f.s.limits.spacing), facetNear)
	if len(near) < facetLeast {
		return facet{}, false
	}
	best := facet{at: f.place[seed], seed: seed}
	draw := rand.New(rand.NewPCG(1, uint64(len(near)))) // the same pairs each time
	for range facetTrials {
		a, b := near[draw.IntN(len(near))], near[draw.IntN(len(near))]
		p, ok := through(a, b)
		if !ok {
			continue
		}
		on, limit := 0, f.tolerance(p)
		for i := range near {
			if math.Abs(near[i].z-p.gx*near[i].x-p.gy*near[i].y) < limit {
				on++
			}
		}
		if on > best.on {
			best.on, best.plane = on, p
		}
	}
	return best, best.on >= facetLeast*3/4
}

// through returns the plane through the origin and two places; not ok when
// they lie on a line or the plane is steeper than any roof.
func through(a, b offset) (plane, bool) {
	det := a.x*b.y - a.y*b.x
	if math.Abs(det) < 0.1*max(a.x*a.x+a.y*a.y, b.x*b.x+b.y*b.y) || det == 0 {
		return plane{}, false
	}
	p := plane{gx: (a.z*b.y - b.z*a.y) / det, gy: (a.x*b.z - b.x*a.z) / det}
	return p, math.Hypot(p.gx, p.gy) < steepest
}

// tolerance returns how far from a plane, along the vertical, a point on it may
// lie.
func (f *facetFinder) tolerance(p plane) float64 {
	l := &f.s.limits
	return max(l.inlier*p.secant(), 3.5*math.Hypot(l.sigmaZ, l.sigma*math.Hypot(p.gx, p.gy)))
}

// grow collects what lies on a facet, neighbour by neighbour from its first
// point, fitting it anew as it grows; not ok unless it is a facet of a roof.
func (f *facetFinder) grow(c facet) (members []int32, best fit, ok bool) {
	from := &f.spots[c.seed]
	p := c.plane
	for range 4 {
		members = f.spread(from, p)
		if len(members) < facetLeast {
			return nil, fit{}, false
		}
		if best, ok = f.refit(from, members); !ok {
			return nil, fit{}, false
		}
		p = best.plane
	}
	s := f.s
	if s.areaOf(len(members)) < 2 || math.Hypot(p.gx, p.gy) >= steepest {
		return nil, fit{}, false
	}
	return members, best, best.rms < f.roughest(p, len(members)) && f.wide(members) && f.solid(from, p, members) && f.meets(p, members)
}

// roughest returns the root mean square residual, across the plane, that noise
// gives so many points on it, half as much again for tiles, and two standard
// deviations of that: what is rougher is of a step and of what is beside it.
func (f *facetFinder) roughest(p plane, n int) float64 {
	l := &f.s.limits
	noise := math.Hypot(l.sigmaZ, l.sigma*math.Hypot(p.gx, p.gy)) / p.secant()
	return max(0.02, 1.5*noise) * (1 + 2/math.Sqrt(2*float64(n-3)))
}

// spread returns the candidates on a plane that are linked to the first, in
// ascending order.
func (f *facetFinder) spread(from *spot, p plane) []int32 {
	limit, link := f.tolerance(p), 1.5*f.s.limits.link
	seen := map[int32]bool{from.at: true}
	members := []int32{from.at}
	for i := 0; i < len(members); i++ {
		q := &f.spots[members[i]]
		for _, o := range f.around(q, link, math.MaxInt) {
			if !seen[o.k] && math.Abs(p.beyond(from, &f.spots[o.k])) < limit {
				seen[o.k] = true
				members = append(members, o.k)
			}
		}
	}
	slices.Sort(members)
	return members
}

// beyond returns how far above a plane about one spot another lies.
func (p plane) beyond(from, q *spot) float64 {
	dx, dy := float64(q.x-from.x)*cloud.Step, float64(q.y-from.y)*cloud.Step
	return float64(q.z-from.z)*cloud.Step - p.z0 - p.gx*dx - p.gy*dy
}

// refit fits the plane of a facet about its first point.
func (f *facetFinder) refit(from *spot, members []int32) (fit, bool) {
	var n, mx, my, mz, xx, xy, yy, xz, yz float64
	for _, k := range members {
		q := &f.spots[k]
		x, y, z := float64(q.x-from.x)*cloud.Step, float64(q.y-from.y)*cloud.Step, float64(q.z-from.z)*cloud.Step
		n, mx, my, mz = n+1, mx+x, my+y, mz+z
		xx, xy, yy, xz, yz = xx+x*x, xy+x*y, yy+y*y, xz+x*z, yz+y*z
	}
	mx, my, mz = mx/n, my/n, mz/n
	xx, xy, yy, xz, yz = xx/n-mx*mx, xy/n-mx*my, yy/n-my*my, xz/n-mx*mz, yz/n-my*mz
	det := xx*yy - xy*xy
	if det <= 1e-6*(xx+yy)*(xx+yy) {
		return fit{}, false
	}
	r := fit{n: len(members), inliers: len(members)}
	r.gx, r.gy = (xz*yy-yz*xy)/det, (yz*xx-xz*xy)/det
	r.z0 = mz - r.gx*mx - r.gy*my
	sum := 0.0
	for _, k := range members {
		e := r.beyond(from, &f.spots[k])
		sum += e * e
	}
	r.rms = math.Sqrt(sum/(n-3)) / r.secant()
	return r, true
}

// wide reports whether a facet is too wide, seen from above, for a wall or a
// string of returns.
func (f *facetFinder) wide(members []int32) bool {
	var m moments
	first := &f.spots[members[0]]
	for _, k := range members {
		q := &f.spots[k]
		at := momentsAt(float64(q.x-first.x)*cloud.Step, float64(q.y-first.y)*cloud.Step)
		m.add(&at)
	}
	_, across := m.spreads()
	return across >= max(0.2, 0.4*f.s.limits.spacing)
}

// solid reports whether most of what is seen about a facet, in its cells, and
// is on no other kept surface, lies on it.
func (f *facetFinder) solid(from *spot, p plane, members []int32) bool {
	s := f.s
	cells := make(map[int]bool, len(members))
	for _, k := range members {
		cells[s.cellOf(s.id(f.place[k]))] = true
	}
	limit := f.tolerance(p)
	about := 0
	for h := range int32(len(s.high)) {
		id := s.id(h)
		if s.onKept(h) || int(f.group[h]) >= len(s.surfaces) || !cells[s.cellOf(id)] {
			continue
		}
		q := &s.block.Points[id]
		if e := math.Abs(p.beyond(from, &spot{x: q.X, y: q.Y, z: q.Z})); e >= limit && e < solidDepth*p.secant() {
			about++
		}
	}
	return float64(len(members)) >= facetSolid*float64(len(members)+about)
}

// meets reports whether a facet runs on into kept surfaces beside it without a
// step.
func (f *facetFinder) meets(p plane, members []int32) bool {
	s := f.s
	level, all := 0, 0
	for _, k := range members {
		at := &s.block.Points[s.id(f.place[k])]
		own := patch{x: at.East(), y: at.North(), z: at.Up(), gx: p.gx, gy: p.gy}
		c := s.cellOf(s.id(f.place[k]))
		for _, d := range s.block3() {
			for i := range s.patchesOf(c + d) {
				q := &s.patchesOf(c + d)[i]
				if !s.surfaces[q.surface].carries() {
					continue
				}
				all++
				if math.Abs(stepOf(&own, q)) <= s.limits.step {
					level++
				}
			}
		}
	}
	return level >= 2 && 10*level >= 3*all
}

// block3 are the steps to a cell itself and the eight about it.
func (s *segmenter) block3() [9]int {
	c := s.grid.Cols
	return [9]int{-c - 1, -c, -c + 1, -1, 0, 1, c - 1, c, c + 1}
}

package roof

import (
	"math"
	"slices"

	"quoin/extract/cloud"
)

// A smooth is a set of points on one smooth surface: a plane, a vault or a
// dome.
type smooth struct {
	n, lines   int     // points, and those of them on lines
	multi      float64 // share of points among pulses of several returns
	rough      float64
	area       float64
	x, y, z    float64 // mean
	gx, gy     float64
	height     float64 // mean above ground
	solid      float64 // share of the points at its height in its cells that are on it
	kept       bool    // large and smooth enough to be a roof by itself
	vegetation bool    // large enough, but rough or pierced
}

// A patch is what one cell holds of one surface.
type patch struct {
	cell, surface int32
	n, own        int32   // points, and those of them that did not join later
	x, y, z       float64 // mean
	gx, gy        float64
}

func (p *patch) at(x, y float64) float64 { return p.z + p.gx*(x-p.x) + p.gy*(y-p.y) }

// findSurfaces joins points that lie on each other's local surface and whose
// surfaces have nearly the same direction (the smoothness constraint of
// Rabbani, van den Heuvel & Vosselman 2006). A dome comes out as one, a gable
// as two. Joining pairs makes the result free of any order of growing.
func (s *segmenter) findSurfaces() {
	var ids []int32
	place := make([]int32, 0, len(s.high)) // of each member its high point
	for h := range int32(len(s.high)) {
		if f := s.feature(h); f.form == surface || f.form == linear {
			ids = append(ids, s.id(h))
			place = append(place, h)
		}
	}
	u := newUnion(len(ids))
	if len(ids) > 0 {
		s.joinPairs(u, ids)
	}
	of, n := u.number()
	s.group, s.lies, s.grown = make([]int32, len(s.high)), make([]lie, len(s.high)), make([]bool, len(s.high))
	for h := range s.group {
		v := s.feature(int32(h))
		gx, gy := v.gradient()
		s.group[h], s.lies[h] = -1, lie{float32(gx), float32(gy), float32(v.rough) / 1000}
	}
	for k, h := range place {
		s.group[h] = of[k]
	}
	s.surfaces = make([]smooth, n)
}

func (s *segmenter) joinPairs(u union, ids []int32) {
	x := newIndex(s.block, ids, s.grid.Bounds(), max(s.limits.link/2, 0.125))
	radius := steps(s.limits.link)
	limit := int64(radius) * int64(radius)
	for k := range x.spots {
		p := &x.spots[k]
		w := x.window(p.x, p.y, radius)
		w.row0 = max(w.row0, floorDiv(p.y, x.cell)-x.row0)
		for row := w.row0; row <= w.row1; row++ {
			lo, hi := x.start[row*x.cols+w.col0], x.start[row*x.cols+w.col1+1]
			for j := max(lo, int32(k)+1); j < hi; j++ {
				q := &x.spots[j]
				dx, dy := int64(q.x-p.x), int64(q.y-p.y)
				if dx*dx+dy*dy > limit || u[p.at] == u[q.at] {
					continue
				}
				if s.joined(p, q, ids) {
					u.join(p.at, q.at)
				}
			}
		}
	}
}

// bend is the largest change of direction between neighbours on one surface,
// as a difference of gradients across a level roof: 9 degrees. A vault of 3 m
// radius bends by that much within half a metre.
const bend = 0.15

// joined reports whether two points lie on each other's surface.
func (s *segmenter) joined(p, q *spot, ids []int32) bool {
	f, g := s.features[ids[p.at]], s.features[ids[q.at]]
	fx, fy := f.gradient()
	gx, gy := g.gradient()
	steepSq := max(fx*fx+fy*fy, gx*gx+gy*gy)
	if math.Hypot(fx-gx, fy-gy) > bend*(1+steepSq) {
		return false
	}
	dx, dy := float64(q.x-p.x)*cloud.Step, float64(q.y-p.y)*cloud.Step
	dz := float64(q.z-p.z) * cloud.Step
	noise := math.Hypot(s.limits.sigmaZ, s.limits.sigma*math.Sqrt(steepSq))
	limit := max(s.limits.inlier*math.Sqrt(1+steepSq), 3.5*noise)
	return math.Abs(dz-fx*dx-fy*dy) < limit && math.Abs(dz-gx*dx-gy*dy) < limit
}

// makePatches sums the points of each surface by cell.
func (s *segmenter) makePatches() {
	counts := make([]int32, s.grid.Len()+1)
	cells := make([]int32, len(s.high))
	for h := range int32(len(s.high)) {
		cells[h] = int32(s.cellOf(s.id(h)))
		if s.group[h] >= 0 {
			counts[cells[h]+1]++
		}
	}
	for c := range s.grid.Len() {
		counts[c+1] += counts[c]
	}
	order := make([]int32, counts[s.grid.Len()])
	next := slices.Clone(counts)
	for h := range int32(len(s.high)) {
		if s.group[h] >= 0 {
			order[next[cells[h]]] = h
			next[cells[h]]++
		}
	}
	s.first = make([]int32, s.grid.Len()+1)
	for c := range s.grid.Len() {
		s.first[c] = int32(len(s.patches))
		s.addPatches(int32(c), order[counts[c]:counts[c+1]])
	}
	s.first[s.grid.Len()] = int32(len(s.patches))
}

// addPatches appends the patches of one cell from its points.
func (s *segmenter) addPatches(cell int32, members []int32) {
	base := len(s.patches)
	for _, h := range members {
		k := base
		for k < len(s.patches) && s.patches[k].surface != s.group[h] {
			k++
		}
		if k == len(s.patches) {
			s.patches = append(s.patches, patch{cell: cell, surface: s.group[h]})
		}
		p, at := &s.patches[k], &s.block.Points[s.id(h)]
		v := &s.lies[h]
		p.n++
		if !s.grown[h] {
			p.own++
		}
		p.x += at.East()
		p.y += at.North()
		p.z += at.Up()
		p.gx += float64(v.gx)
		p.gy += float64(v.gy)
	}
	for k := base; k < len(s.patches); k++ {
		p := &s.patches[k]
		n := float64(p.n)
		p.x, p.y, p.z, p.gx, p.gy = p.x/n, p.y/n, p.z/n, p.gx/n, p.gy/n
	}
}

// patchesOf returns the patches of a cell.
func (s *segmenter) patchesOf(cell int) []patch { return s.patches[s.first[cell]:s.first[cell+1]] }

// measureSurfaces works out what each surface is.
func (s *segmenter) measureSurfaces() {
	s.measurePoints()
	if s.full == 0 { // once, of the points that were found roof-like by themselves
		s.full = s.fullCell()
	}
	for k := range s.surfaces {
		s.surfaces[k].area = s.areaOf(s.surfaces[k].n)
	}
	s.measureSolid()
	for k := range s.surfaces {
		f := &s.surfaces[k]
		if f.n < 8 || f.area < 2 || 2*f.lines > f.n {
			continue
		}
		f.vegetation = f.solid < 0.5 || f.multi > 0.3 && !s.glazed(f)
		f.kept = !f.vegetation
	}
	s.keepFolds()
}

// glazed reports whether a surface that pulses pass through is glass, mesh or
// a pergola rather than foliage: hardly anything is about it, and it is as
// smooth as a roof.
func (s *segmenter) glazed(f *smooth) bool {
	return f.multi < 0.6 && f.solid > 0.85 && f.rough < s.limits.clean
}

func (s *segmenter) measurePoints() {
	for h := range int32(len(s.high)) {
		if s.group[h] < 0 || s.grown[h] {
			continue
		}
		id := s.id(h)
		f, p, v := &s.surfaces[s.group[h]], &s.block.Points[id], &s.lies[h]
		f.n++
		if s.features[id].form == linear {
			f.lines++
		}
		if p.Returns() > 1 {
			f.multi++
		}
		f.rough += float64(v.rough)
		f.x += p.East()
		f.y += p.North()
		f.z += p.Up()
		f.gx += float64(v.gx)
		f.gy += float64(v.gy)
		f.height += float64(s.hag[id])
	}
	for k := range s.surfaces {
		f := &s.surfaces[k]
		for _, v := range []*float64{&f.multi, &f.rough, &f.x, &f.y, &f.z, &f.gx, &f.gy, &f.height} {
			*v /= float64(f.n)
		}
	}
}

// fullCell returns the mean number of roof-like points in a cell that lies
// inside a roof, pulled towards what the block's density promises by four
// square metres of it. Cells that happen to be empty count where all around
// are not.
func (s *segmenter) fullCell() float64 {
	taken := make([]bool, s.grid.Len())
	for c := range taken {
		taken[c] = s.first[c] < s.first[c+1]
	}
	prior := 4 / (s.grid.Cell * s.grid.Cell)
	cells, points := prior, 4*s.limits.density
	for c := range taken {
		if s.zone[c] == 0 || !surrounded(s.grid, taken, c) {
			continue
		}
		cells++
		for _, p := range s.patchesOf(c) {
			points += float64(p.n)
		}
	}
	return max(points/cells, 0.1)
}

// areaOf returns the area that so many points of a roof cover.
func (s *segmenter) areaOf(points int) float64 {
	return float64(points) / s.full * s.grid.Cell * s.grid.Cell
}

// surrounded reports whether all but one of the eight cells about one that is
// not at the border of the grid are taken.
func surrounded(g cloud.Grid, taken []bool, c int) bool {
	n := 0
	for dr := -1; dr <= 1; dr++ {
		for dc := -1; dc <= 1; dc++ {
			if (dr != 0 || dc != 0) && taken[c+dr*g.Cols+dc] {
				n++
			}
		}
	}
	return n >= 7
}

// solidDepth is how far above and below a surface other points count against
// it, in metres: less than a storey, more than a crown is deep at its top.
const solidDepth = 1.0

// measureSolid finds which share of the points about each surface's height, in
// its own cells, lies on it. Roofs come near 1, foliage does not.
func (s *segmenter) measureSolid() {
	about := make([]int32, len(s.surfaces))
	for h := range int32(len(s.high)) {
		id := s.id(h)
		p := &s.block.Points[id]
		for _, q := range s.patchesOf(s.cellOf(id)) {
			if q.own > 0 && (q.surface != s.group[h] || s.grown[h]) && math.Abs(p.Up()-q.at(p.East(), p.North())) < solidDepth &&
				s.features[id].form == loose {
				about[q.surface]++
			}
		}
	}
	for k := range s.surfaces {
		f := &s.surfaces[k]
		f.solid = float64(f.n) / float64(f.n+int(about[k]))
	}
}

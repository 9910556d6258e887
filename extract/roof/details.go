package roof

import (
	"math"

	"quoin/extract/cloud"
)

// topmost is how far above a roof, in metres, its dormers, chimneys and plant
// may stand.
const topmost = 4.0

// attachDetails labels the points of small surfaces that stand on a roof, and
// parapets along its edge.
func (s *segmenter) attachDetails() {
	roofs := s.roofCells()
	tall := make([]vote, len(s.surfaces))
	for h := range int32(len(s.high)) {
		g := s.group[h]
		if g < 0 || s.of[h] >= 0 {
			continue
		}
		v := &tall[g]
		v.n++
		p := &s.block.Points[s.id(h)]
		near, z, inside := s.roofNear(roofs, p)
		if near < 0 || p.Up() < z-s.limits.attach || p.Up() > z+topmost {
			continue
		}
		b := roofs[near].building
		if v.on == 0 {
			v.building = b
		}
		if v.building == b {
			v.on++
			if inside {
				v.inside++
			}
			v.above += p.Up() - z
		}
	}
	for h := range int32(len(s.high)) {
		if g := s.group[h]; g >= 0 && s.of[h] < 0 && s.belongs(&s.surfaces[g], &tall[g]) {
			s.setRoof(h, tall[g].building)
		}
	}
}

// A vote counts where the unlabelled points of one small surface lie.
type vote struct {
	n, on, inside int
	building      int32
	above         float64 // sum of heights above the roof
}

// belongs decides whether a small surface is part of the roof below it. One
// inside the outline may be anything hard. One at the edge must be as solid as
// a parapet or a dormer, since a branch over the edge would move the outline.
func (s *segmenter) belongs(f *smooth, v *vote) bool {
	switch {
	case v.on == 0 || 10*v.on < 9*v.n || f.multi > 0.3 || f.vegetation:
		return false
	case v.inside == v.n:
		return f.solid > 0.5
	}
	return f.n >= 6 && f.solid > 0.7 && v.above/float64(v.on) < 1.6
}

// A roofCell is what a cell holds of the building with the most points in it.
type roofCell struct {
	building int32
	n        int32
	x, y, z  float64
	gx, gy   float64
}

// roofCells sums the labelled points by cell, for the building that has the
// most surface there.
func (s *segmenter) roofCells() []roofCell {
	cells := make([]roofCell, s.grid.Len())
	for c := range cells {
		cells[c].building = -1
		for _, p := range s.patchesOf(c) {
			b := s.part[p.surface]
			if b >= 0 && p.n > cells[c].n {
				cells[c] = roofCell{b, p.n, p.x, p.y, p.z, p.gx, p.gy}
			}
		}
	}
	return cells
}

// roofNear returns the cell with a roof that is nearest to a point, its own or
// one next to it, the height of that roof at the point, and whether all cells
// around have a roof; -1 when none has.
func (s *segmenter) roofNear(cells []roofCell, p *cloud.Point) (near int, z float64, inside bool) {
	c, _ := s.grid.Index(p.East(), p.North())
	row, col := c/s.grid.Cols, c%s.grid.Cols
	near, inside = -1, true
	best := math.Inf(1)
	for dr := -1; dr <= 1; dr++ {
		for dc := -1; dc <= 1; dc++ {
			if row+dr < 0 || row+dr >= s.grid.Rows || col+dc < 0 || col+dc >= s.grid.Cols {
				inside = false
				continue
			}
			q := &cells[(row+dr)*s.grid.Cols+col+dc]
			if q.building < 0 {
				inside = inside && dr == 0 && dc == 0
				continue
			}
			if d := math.Hypot(p.East()-q.x, p.North()-q.y); d < best {
				best, near = d, (row+dr)*s.grid.Cols+col+dc
				z = q.z + q.gx*(p.East()-q.x) + q.gy*(p.North()-q.y)
			}
		}
	}
	return near, z, inside && near >= 0
}

// tallestRim is the height of the tallest parapet above its roof, in metres.
const tallestRim = 1.6

// A rimPoint is a return close above a roof and near its edge.
type rimPoint struct {
	h, building int32
	above       float64
	gx, gy      float32
}

// attachRims labels the points of parapets and upstands, which are too narrow
// for a surface of their own: returns that stand at one height above the roof
// along its edge, as most about them do. Foliage over an edge stands at all
// heights. It returns how many.
func (s *segmenter) attachRims() int {
	rims := s.rimPoints()
	if len(rims) == 0 {
		return 0
	}
	ids := make([]int32, len(rims))
	for k, r := range rims {
		ids[k] = s.id(r.h)
	}
	radius := max(1.5, 4*s.limits.spacing)
	x := newIndex(s.block, ids, s.grid.Bounds(), radius/2)
	var found []rimPoint
	for k := range rims {
		if s.isRim(x, rims, ids, k, radius) {
			found = append(found, rims[k])
		}
	}
	for _, r := range found {
		s.of[r.h], s.kinds[r.h], s.lies[r.h] = r.building, Roof, lie{r.gx, r.gy, 0}
	}
	return len(found)
}

// rimPoints lists the unlabelled high points close above a roof's edge, in
// canonical order.
func (s *segmenter) rimPoints() []rimPoint {
	roofs := s.roofCells()
	var rims []rimPoint
	for h := range int32(len(s.high)) {
		if s.of[h] >= 0 {
			continue
		}
		p := &s.block.Points[s.id(h)]
		near, z, _ := s.roofNear(roofs, p)
		if near < 0 || p.Up() < z+s.limits.attach || p.Up() > z+tallestRim {
			continue
		}
		c := &roofs[near]
		rims = append(rims, rimPoint{h, c.building, p.Up() - z, float32(c.gx), float32(c.gy)})
	}
	return rims
}

// isRim reports whether most of the rim points about one, and at least three
// others, stand at its height above the roof.
func (s *segmenter) isRim(x *index, rims []rimPoint, ids []int32, k int, radius float64) bool {
	p := &s.block.Points[ids[k]]
	w := x.window(p.X, p.Y, steps(radius))
	limit := int64(steps(radius)) * int64(steps(radius))
	same, all, several := 0, 0, 0
	for row := w.row0; row <= w.row1; row++ {
		for _, q := range x.row(w, row) {
			dx, dy := int64(q.x-p.X), int64(q.y-p.Y)
			if dx*dx+dy*dy > limit {
				continue
			}
			all++
			if math.Abs(rims[q.at].above-rims[k].above) < s.limits.inlier {
				same++
				if s.block.Points[ids[q.at]].Returns() > 1 {
					several++
				}
			}
		}
	}
	return same >= 4 && 2*same >= all && 2*several <= same
}

package roof

import (
	"math"
	"slices"
)

// A profile is what is measured of one building before it is judged.
type profile struct {
	points []int32 // high points
	cells  []int32 // cells that hold its roof points, ascending
	edge   []int32 // of those, the ones at its edge

	area        float64
	height      float64 // median above ground
	low, top    float64 // elevations: lower quartile of the edge, highest but for a hundredth
	ground      float64 // median elevation of the ground at the edge
	eave        float64 // height above ground that the roof falls to along nearly half its edge
	multi       float64
	solid       float64
	rough       float64
	tilt        float64 // mean gradient of its surfaces
	spread      float64 // of elevations, from the 5th to the 95th hundredth
	box         box
	thin        bool // hardly any cell has neighbours on all sides
	vehicle     bool // a truck, a trailer, containers
	several     bool // perhaps a row of houses
	bridge      bool
	mound       bool
	penetration float64
	through     float64 // share of the pulses that met it well inside its edge and went on
	vegetation  float64
	atBlockEdge bool
}

// profiles measures all buildings of the cluster.
func (s *segmenter) profiles() []profile {
	list := make([]profile, s.units)
	for h := range int32(len(s.high)) {
		if b := s.of[h]; b >= 0 {
			list[b].points = append(list[b].points, h)
		}
	}
	counts := make([]int32, s.grid.Len())
	owner := make([]int32, s.grid.Len()) // 1 + building
	for b := range list {
		p := &list[b]
		s.fillCells(p, int32(b), counts, owner)
		s.measureThrough(p)
		s.measureShape(p)
		s.measureHeights(p)
	}
	s.measureBelow(list, owner)
	border := newBorder(s, owner)
	for b := range list {
		border.measure(&list[b], int32(b))
	}
	return list
}

// fillCells lists the cells of one building. owner becomes 1 + the building
// with the latest number that has points in a cell.
func (s *segmenter) fillCells(p *profile, building int32, counts, owner []int32) {
	var lone []int32
	for _, h := range p.points {
		c := int32(s.cellOf(s.id(h)))
		if counts[c] == 0 {
			lone = append(lone, c)
		}
		counts[c]++
	}
	slices.Sort(lone)
	p.cells = lone
	interior := 0
	for _, c := range lone {
		inside, full := true, true
		for _, d := range [4]int{-1, 1, -s.grid.Cols, s.grid.Cols} {
			empty := counts[int(c)+d] == 0
			full = full && !empty
			inside = inside && (!empty || s.enclosed(counts, int(c)+d))
		}
		if full {
			interior++
		}
		if !inside {
			p.edge = append(p.edge, c)
		}
	}
	p.area = s.areaOf(len(p.points))
	p.thin = s.grid.Cell <= 0.5 && 10*interior < len(lone)
	for _, c := range lone {
		counts[c] = 0
		owner[c] = building + 1
	}
}

// measureThrough finds the share of pulses that met something away from its edge and
// gave another return below. A roof stops them, whatever hangs over it; leaves,
// mesh and some glass do not.
func (s *segmenter) measureThrough(p *profile) {
	at := make(map[int32]bool, len(p.edge))
	for _, c := range p.edge {
		at[c] = true
	}
	inner, on := 0, 0
	for _, h := range p.points {
		if id := s.id(h); !at[int32(s.cellOf(id))] {
			inner++
			if q := &s.block.Points[id]; q.Return() < q.Returns() {
				on++
			}
		}
	}
	if inner >= leastInner {
		p.through = float64(on) / float64(inner)
	}
}

// leastInner is the number of returns away from the edge below which they tell
// nothing.
const leastInner = 12

// enclosed reports whether a cell is empty by chance: most cells about it are
// not.
func (s *segmenter) enclosed(counts []int32, c int) bool {
	n := 0
	for _, d := range s.neighbours() {
		if counts[c+d] > 0 {
			n++
		}
	}
	return n >= 5
}

// neighbours are the steps to the eight cells about one, the four that share
// a side with it first.
func (s *segmenter) neighbours() [8]int {
	c := s.grid.Cols
	return [8]int{-1, 1, -c, c, -c - 1, -c + 1, c - 1, c + 1}
}

func (s *segmenter) measureShape(p *profile) {
	places := make([][2]float64, len(p.points))
	var several, weight float64
	for i, h := range p.points {
		at := &s.block.Points[s.id(h)]
		places[i] = [2]float64{at.East(), at.North()}
		if at.Returns() > 1 {
			several++
		}
	}
	p.box = smallestBox(places)
	p.area = min(p.area, p.box.grown(float64(len(places))))
	p.multi = several / float64(len(p.points))
	for _, k := range s.surfacesOf(p) {
		f := &s.surfaces[k]
		p.tilt += float64(f.n) * math.Hypot(f.gx, f.gy)
		p.solid += float64(f.n) * f.solid
		p.rough += float64(f.n) * f.rough
		weight += float64(f.n)
	}
	p.tilt /= weight
	p.solid /= weight
	p.rough /= weight
}

// surfacesOf returns the kept surfaces of a building, in order.
func (s *segmenter) surfacesOf(p *profile) []int32 {
	var list []int32
	for _, h := range p.points {
		if g := s.group[h]; g >= 0 && s.part[g] >= 0 && s.part[g] == s.of[h] {
			list = append(list, g)
		}
	}
	slices.Sort(list)
	return slices.Compact(list)
}

func (s *segmenter) measureHeights(p *profile) {
	heights := make([]float64, len(p.points))
	tops := make([]float64, len(p.points))
	for i, h := range p.points {
		heights[i] = float64(s.hag[s.id(h)])
		tops[i] = s.block.Points[s.id(h)].Up()
	}
	slices.Sort(heights)
	slices.Sort(tops)
	p.height = quantile(heights, 0.5)
	p.top = quantile(tops, 0.99)
	p.spread = quantile(tops, 0.95) - quantile(tops, 0.05)
	at := make(map[int32]bool, len(p.edge))
	for _, c := range p.edge {
		at[c] = true
	}
	var edge, ground, above []float64
	for _, h := range p.points {
		if id := s.id(h); at[int32(s.cellOf(id))] {
			up := s.block.Points[id].Up()
			edge = append(edge, up)
			ground = append(ground, up-float64(s.hag[id]))
			above = append(above, float64(s.hag[id])-s.fallBeyond(p, h))
		}
	}
	slices.Sort(edge)
	slices.Sort(ground)
	slices.Sort(above)
	p.eave = quantile(above, 0.45)
	p.low, p.ground = quantile(edge, 0.25), quantile(ground, 0.5)
}

// fallBeyond returns how far the surface at a point at the edge falls to the side
// of the smallest rectangle that it slopes to; 0 where that is farther than the
// cells at the edge are wide.
func (s *segmenter) fallBeyond(p *profile, h int32) float64 {
	at := &s.block.Points[s.id(h)]
	x, y := at.East()-p.box.x, at.North()-p.box.y
	gx, gy := float64(s.lies[h].gx), float64(s.lies[h].gy)
	fall := 0.0
	for _, side := range [2]struct{ dx, dy, half float64 }{
		{p.box.dx, p.box.dy, p.box.length / 2}, {-p.box.dy, p.box.dx, p.box.width / 2},
	} {
		v, slope := side.dx*x+side.dy*y, side.dx*gx+side.dy*gy
		if away := side.half - math.Abs(v); v*slope < 0 && away < 1.5*s.limits.cell {
			fall = max(fall, away*math.Abs(slope))
		}
	}
	return fall
}

// quantile returns the value below which the given share of sorted values
// lies; NaN of none.
func quantile(sorted []float64, share float64) float64 {
	if len(sorted) == 0 {
		return math.NaN()
	}
	return sorted[min(int(share*float64(len(sorted))), len(sorted)-1)]
}

// measureBelow counts the returns that passed each roof and reached the
// ground, two cells and more inside its edge: closer to it, rays come in under
// the eave.
func (s *segmenter) measureBelow(list []profile, owner []int32) {
	below, all := make([]int, len(list)), make([]int, len(list))
	inside := func(c int) bool {
		if owner[c] == 0 {
			return false
		}
		for _, d := range s.neighbours() {
			if owner[c+d] != owner[c] || owner[c+2*d] != owner[c] {
				return false
			}
		}
		return true
	}
	for _, id := range s.ids {
		c := s.cellOf(id)
		if !inside(c) {
			continue
		}
		b := owner[c] - 1
		all[b]++
		if !s.features[id].Above() {
			below[b]++
		}
	}
	for b := range list {
		if all[b] > 0 {
			list[b].penetration = float64(below[b]) / float64(all[b])
		}
	}
}

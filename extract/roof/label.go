package roof

import (
	"math"

	"quoin/extract/cloud"
)

// label gives each high point its building and its kind.
func (s *segmenter) label() {
	s.of = make([]int32, len(s.high))
	s.kinds = make([]Kind, len(s.high))
	for h := range s.of {
		s.of[h] = -1
		if g := s.group[h]; g >= 0 && s.part[g] >= 0 {
			s.setRoof(int32(h), s.part[g])
		}
	}
	for range attachRounds {
		if s.attachEdges() == 0 {
			break
		}
	}
	s.attachDetails()
	if s.attachRims() > 0 {
		s.attachEdges()
	}
	s.nameOthers()
}

// attachRounds bounds how far edge points are carried on from the surface:
// each round reaches attachReach further.
const attachRounds = 3

func (s *segmenter) setRoof(h, building int32) {
	s.of[h], s.kinds[h] = building, Roof
}

// attachReach is how far from a roof point an edge point may lie: farther
// than any gap between the points of a roof edge is likely to be, a quarter
// disc of two spacings holds none of 23.
func (s *segmenter) attachReach() float64 { return max(0.4, 2*s.limits.spacing) }

// attachEdges labels the points that lie on a roof carried on beyond its
// labelled points; it returns how many.
func (s *segmenter) attachEdges() int {
	x, place := s.indexOf(func(h int32) bool { return s.of[h] >= 0 })
	if len(place) == 0 {
		return 0
	}
	type found struct{ h, from int32 }
	var list []found
	for h := range int32(len(s.high)) {
		if s.of[h] >= 0 {
			continue
		}
		if from, e := s.carrier(x, place, h); e < s.limits.attach {
			list = append(list, found{h, from})
		}
	}
	for _, f := range list {
		s.of[f.h], s.kinds[f.h], s.lies[f.h] = s.of[f.from], Roof, s.lies[f.from]
	}
	return len(list)
}

// indexOf indexes the high points of a property and lists them, in the order
// that the spots' positions count.
func (s *segmenter) indexOf(is func(h int32) bool) (x *index, high []int32) {
	var ids []int32
	for h := range int32(len(s.high)) {
		if is(h) {
			ids = append(ids, s.id(h))
			high = append(high, h)
		}
	}
	return newIndex(s.block, ids, s.grid.Bounds(), max(s.attachReach()/2, 0.125)), high
}

// carrier returns the roof point on whose surface, carried on, a point lies
// best, and how far from it; +Inf when none is within reach or none fits.
func (s *segmenter) carrier(x *index, high []int32, h int32) (from int32, e float64) {
	p := &s.block.Points[s.id(h)]
	radius := steps(s.attachReach())
	limit := int64(radius) * int64(radius)
	w := x.window(p.X, p.Y, radius)
	best, least, off := int32(-1), math.Inf(1), math.Inf(1)
	for row := w.row0; row <= w.row1; row++ {
		for _, q := range x.row(w, row) {
			dx, dy := int64(p.X-q.x), int64(p.Y-q.y)
			d := dx*dx + dy*dy
			if d > limit {
				continue
			}
			from := high[q.at]
			if e, ok := s.misfit(p, &q, &s.lies[from]); ok {
				// the nearer the carrier the less its gradient's error counts
				if cost := e + 0.02*math.Sqrt(float64(d))*cloud.Step; cost < least {
					best, least, off = from, cost, e
				}
			}
		}
	}
	return best, off
}

// misfit returns how far a point lies from a roof point's surface, and
// whether that is close enough to be on it.
func (s *segmenter) misfit(p *cloud.Point, q *spot, l *lie) (float64, bool) {
	gx, gy := float64(l.gx), float64(l.gy)
	dx, dy := float64(p.X-q.x)*cloud.Step, float64(p.Y-q.y)*cloud.Step
	dz := float64(p.Z-q.z) * cloud.Step
	secant := math.Sqrt(1 + gx*gx + gy*gy)
	e := math.Abs(dz-gx*dx-gy*dy) / secant
	return e, e < s.limits.attach
}

// nameOthers gives the rest of the high points their kinds.
func (s *segmenter) nameOthers() {
	roofs := s.roofCells()
	for h := range int32(len(s.high)) {
		if s.of[h] >= 0 {
			continue
		}
		id := s.id(h)
		p, f := &s.block.Points[id], s.features[id]
		near, z, _ := s.roofNear(roofs, p)
		switch {
		case near >= 0 && p.Up() > z+0.3 && p.Up() < z+1 && f.multi < 77:
			s.kinds[h] = Clutter
		case near >= 0 && p.Up() < z-0.3 && f.multi < 128:
			s.kinds[h] = Wall
		case near >= 0 && math.Abs(p.Up()-z) <= 0.3:
			s.kinds[h] = Unknown
		case f.form == loose:
			s.kinds[h] = Vegetation
		default:
			s.kinds[h] = Object
		}
	}
}

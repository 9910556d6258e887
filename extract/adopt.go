package extract

import (
	"context"
	"math"
	"slices"

	"quoin/extract/cloud"
)

// adopt gives to each building the returns beside its roof that lie on the
// roof carried on and that the roof stage left out, as it does at corners and
// where little of a plane is seen: to an outline a corner without returns
// looks like a notch. All returns that are given away are marked in roofOf.
// Before that, returns that the roof stage took for roof and that hang under
// it are taken away.
func (s *surroundings) adopt(ctx context.Context, all []*drawing, o Options) error {
	found := make([][]int32, len(all))
	if err := s.dropHanging(ctx, all, o); err != nil {
		return err
	}
	err := each(ctx, o, len(all), func(i int) error {
		found[i] = s.missed(all[i].shape, all[i].number)
		return nil
	})
	if err != nil {
		return err
	}
	for i, d := range all { // in order, as two may claim the same return
		points := slices.Clone(d.shape.points)
		for _, p := range found[i] {
			if s.roofOf[p] < 0 {
				s.roofOf[p] = d.number
				points = append(points, p)
			}
		}
		if len(points) > len(d.shape.points) {
			slices.Sort(points)
			d.shape = newRoofShape(s.block, points, s.measures, s.margin()).kept()
		}
	}
	return nil
}

const (
	adoptRounds = 8
	// lenientRounds is how many rounds take no offence at returns below the
	// roof: a façade has many of them at a corner, and a hedge as high as the
	// roof is not followed far in two steps.
	lenientRounds = 2
	adoptHeight   = 1.0 // metres above ground below which nothing is a roof
)

// missed returns the returns that a roof lacks. Each round carries the roof on
// by a step from what is known of it.
func (s *surroundings) missed(shape *roofShape, number int32) []int32 {
	var found []int32
	passed := passings{s: s, shape: shape, number: number}
	for round := range adoptRounds {
		more := s.beside(shape, found, &passed, round < lenientRounds)
		if len(more) == 0 {
			break
		}
		found = append(found, more...)
		points := slices.Concat(shape.points, more)
		slices.Sort(points)
		shape = newRoofShape(s.block, points, s.measures, shape.margin)
	}
	return found
}

// A stray is a return near a roof and of no roof, at the roof's height or
// above it.
type stray struct {
	point int32
	x, y  float64
	above float64 // the roof carried on
	on    bool    // it lies on the roof carried on
	alone bool    // its pulse gave no other return
	last  bool    // its pulse went no further
}

// beside returns the returns within a step of a roof that lie on it or on a
// parapet around it, but for those among more returns that do not: those are of
// a tree that happens to cross the roof's plane. Under a tree that hangs over
// the roof, those are taken about which more pulses stopped at the roof's height
// than went on: wood and leaves stop few at any one height.
func (s *surroundings) beside(shape *roofShape, known []int32, passed *passings, lenient bool) []int32 {
	reach := max(0.75, 2.5*s.measures.Spacing)
	taken := make(map[int32]bool, len(known))
	for _, p := range known {
		taken[p] = true
	}
	var strays []stray
	bounds := shape.roofBounds().Pad(reach)
	for i := range s.block.In(bounds) {
		if s.roofOf[i] >= 0 || taken[int32(i)] || !(s.hag[i] > adoptHeight) {
			continue
		}
		if owner, was := s.former[int32(i)]; was && owner != passed.number {
			continue
		}
		p := &s.block.Points[i]
		above, ok := s.overRoof(shape, p, reach)
		if !ok || lenient && above < -shape.rough {
			continue
		}
		strays = append(strays, stray{
			point: int32(i), x: p.East(), y: p.North(), above: above,
			on: math.Abs(above) <= shape.rough, alone: p.Returns() <= 1, last: p.Return() == p.Returns(),
		})
	}
	var more []int32
	for _, c := range strays {
		if c.on && (company(strays, c, reach) || c.last && s.stopped(strays, c, passed)) || s.onRim(strays, c, shape.rough) {
			more = append(more, c.point)
		}
	}
	return more
}

// overRoof returns how far above the roof carried on a return lies; not ok when
// it is not within reach, or below the roof.
func (s *surroundings) overRoof(shape *roofShape, p *cloud.Point, reach float64) (above float64, ok bool) {
	k, distance := shape.nearest(p.East(), p.North())
	if k < 0 || distance > reach {
		return 0, false
	}
	if p.Up() < s.block.Points[shape.points[k]].Up()-steepest*distance-shape.rough {
		return 0, false
	}
	z, _ := shape.height(p.East(), p.North())
	return p.Up() - z, p.Up()-z > -s.below()
}

// company reports whether at least two thirds of the strays about one lie on
// the roof.
func company(strays []stray, c stray, reach float64) bool {
	on, off := 0, 0
	for _, o := range strays {
		if dx, dy := o.x-c.x, o.y-c.y; dx*dx+dy*dy > reach*reach {
			continue
		}
		if o.on {
			on++
		} else {
			off++
		}
	}
	return on >= 2*off
}

const (
	// tallestRim is the height of the tallest parapet above its roof, in
	// metres (common practice, no source).
	tallestRim = 1.6
	// rimFellows is the least number of returns at one height above the roof
	// that make a parapet.
	rimFellows = 4
)

// onRim reports whether a stray is on a parapet: it stands above the roof as
// high as three quarters of all that does about it, and few of those pulses went
// on. Foliage stands at all heights. The roof stage finds parapets by the same sign
// where they have a return every half metre; this is for sparser clouds and for
// corners.
func (s *surroundings) onRim(strays []stray, c stray, tolerance float64) bool {
	if c.above < tolerance || c.above > tallestRim || !c.alone {
		return false
	}
	radius := max(3, 8*s.measures.Spacing)
	same, all := 0, 0
	for _, o := range strays {
		if dx, dy := o.x-c.x, o.y-c.y; dx*dx+dy*dy > radius*radius || o.above < tolerance {
			continue
		}
		all++
		if o.alone && math.Abs(o.above-c.above) <= tolerance {
			same++
		}
	}
	return same >= rimFellows && 4*same >= 3*all
}

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
func (s *surroundings) adopt(ctx context.Context, all []*drawing, o Options) error {
	found := make([][]int32, len(all))
	err := each(ctx, o, len(all), func(i int) error {
		found[i] = s.missed(all[i].shape)
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
			d.shape = newRoofShape(s.block, points, s.measures, s.margin())
		}
	}
	return nil
}

const (
	adoptRounds = 8
	adoptHeight = 1.0 // metres above ground below which nothing is a roof
)

// missed returns the returns that a roof lacks. Each round carries the roof on
// by a step from what is known of it.
func (s *surroundings) missed(shape *roofShape) []int32 {
	var found []int32
	for range adoptRounds {
		more := s.beside(shape, found)
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
	on    bool // it lies on the roof carried on
}

// beside returns the returns within a step of a roof that lie on it, but for
// those among more returns that do not: those are of a tree that happens to
// cross the roof's plane.
func (s *surroundings) beside(shape *roofShape, known []int32) []int32 {
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
		if on, ok := s.onRoof(shape, &s.block.Points[i], reach); ok {
			strays = append(strays, stray{int32(i), s.block.Points[i].East(), s.block.Points[i].North(), on})
		}
	}
	var more []int32
	for _, c := range strays {
		if c.on && company(strays, c, reach) {
			more = append(more, c.point)
		}
	}
	return more
}

// onRoof reports whether a return within reach of a roof lies on it; not ok
// when it is not within reach, or below the roof.
func (s *surroundings) onRoof(shape *roofShape, p *cloud.Point, reach float64) (on, ok bool) {
	k, distance := shape.nearest(p.East(), p.North())
	if k < 0 || distance > reach {
		return false, false
	}
	if p.Up() < s.block.Points[shape.points[k]].Up()-steepest*distance-shape.rough {
		return false, false
	}
	z, _ := shape.height(p.East(), p.North())
	off := p.Up() - z
	return math.Abs(off) <= shape.rough, off > -s.below()
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

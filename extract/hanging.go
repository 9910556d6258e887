package extract

import (
	"context"
	"slices"

	"quoin/extract/cloud"
)

const (
	// hangingReach is how far apart in plan, in metres, returns of one façade
	// lie: its relief and twice the noise of positions. A parapet is wider.
	hangingReach = 0.2
	// hangingDepth is how far below a return more of the façade is looked for.
	hangingDepth = 2.0
)

// dropHanging takes from every building the returns that hang under its roof's
// edge: returns of façades that passed for roof. One of them at a corner makes
// the roof seem lower there, so that what belongs to it counts as foliage above
// it, and the corner is cut off.
func (s *surroundings) dropHanging(ctx context.Context, all []*drawing, o Options) error {
	hanging := make([][]int32, len(all))
	err := each(ctx, o, len(all), func(i int) error {
		shape := all[i].shape
		for k, p := range shape.points {
			if s.hangs(shape, k, &s.block.Points[p]) {
				hanging[i] = append(hanging[i], p)
			}
		}
		return nil
	})
	if err != nil {
		return err
	}
	s.former = make(map[int32]int32)
	for i, d := range all {
		if n := len(hanging[i]); n == 0 || n == len(d.shape.points) {
			continue
		}
		for _, p := range hanging[i] {
			s.roofOf[p], s.former[p] = -1, d.number
		}
		kept := slices.DeleteFunc(slices.Clone(d.shape.points), func(p int32) bool { return s.roofOf[p] != d.number })
		d.shape = newRoofShape(s.block, kept, s.measures, s.margin()).kept()
	}
	return nil
}

// hangs reports whether roof point k has roof above it, and returns of no roof right
// below: in between it is part of the façade, while the foot of a parapet or of
// a wall that stands on a roof has nothing below. Of a lower roof a few returns
// at its edge, beside the step, are taken as well; they lie on its plane and are
// adopted again, by this building only: the roofs of a row lie almost on one plane,
// and a neighbour that carries its own on would reach into this one.
func (s *surroundings) hangs(shape *roofShape, k int, p *cloud.Point) bool {
	return s.overWall(shape, p) && !shape.slopeAt(k).steep && shape.carriedTo(p) >= p.Up()+s.below()
}

// overWall reports whether a return has returns of no roof right below it.
func (s *surroundings) overWall(shape *roofShape, p *cloud.Point) bool {
	x, y := p.East(), p.North()
	for i := range s.block.In(cloud.Rect{MinX: x - hangingReach, MinY: y - hangingReach, MaxX: x + hangingReach, MaxY: y + hangingReach}) {
		q := &s.block.Points[i]
		depth := p.Up() - q.Up()
		if s.roofOf[i] >= 0 || depth < shape.rough || depth > hangingDepth {
			continue
		}
		if dx, dy := q.East()-x, q.North()-y; dx*dx+dy*dy <= hangingReach*hangingReach {
			return true
		}
	}
	return false
}

// carriedTo returns the median of what the roof points about a place say of the
// roof's elevation there, each carried on along its own plane: of a verge, that
// is the verge itself, however steep the roof rises from it. NaN without any.
func (r *roofShape) carriedTo(p *cloud.Point) float64 {
	var votes []float64
	for _, n := range r.around(p) {
		if n.at == [3]float64{} {
			continue // the point itself
		}
		g := r.slopeAt(int(n.k))
		votes = append(votes, p.Up()+n.at[2]-g.gx*n.at[0]-g.gy*n.at[1])
	}
	return quantile(votes, 0.5)
}

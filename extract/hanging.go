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
	// overhead is how far about a return the roof over it may be, in metres, or
	// three spacings if that is more: at a corner it may be missing itself.
	overhead = 1.0
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
		for _, p := range all[i].shape.points {
			if s.hangs(all[i].shape, &s.block.Points[p]) {
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
		d.shape = newRoofShape(s.block, kept, s.measures, s.margin())
	}
	return nil
}

// hangs reports whether a return has roof above it, and returns of no roof right
// below: in between it is part of the façade, while the foot of a parapet or of
// a wall that stands on a roof has nothing below. Of a lower roof a few returns
// at its edge, beside the step, are taken as well; they lie on its plane and are
// adopted again, by this building only: the roofs of a row lie almost on one plane,
// and a neighbour that carries its own on would reach into this one.
func (s *surroundings) hangs(shape *roofShape, p *cloud.Point) bool {
	if !shape.reaches(p, max(overhead, 3*s.measures.Spacing), p.Up()+s.below()) {
		return false
	}
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

// reaches reports whether the roof comes up to a height within a radius of a
// point.
func (r *roofShape) reaches(p *cloud.Point, radius, height float64) bool {
	x, y := p.East(), p.North()
	cells := cloud.NewGrid(cloud.Rect{MinX: x - radius, MinY: y - radius, MaxX: x + radius, MaxY: y + radius}, r.grid.Cell)
	for row := max(cells.Row0, r.grid.Row0); row < min(cells.Row0+cells.Rows, r.grid.Row0+r.grid.Rows); row++ {
		for col := max(cells.Col0, r.grid.Col0); col < min(cells.Col0+cells.Cols, r.grid.Col0+r.grid.Cols); col++ {
			cell := (row-r.grid.Row0)*r.grid.Cols + col - r.grid.Col0
			for _, k := range r.order[r.start[cell]:r.start[cell+1]] {
				q := &r.block.Points[r.points[k]]
				if dx, dy := q.East()-x, q.North()-y; q.Up() >= height && dx*dx+dy*dy <= radius*radius {
					return true
				}
			}
		}
	}
	return false
}

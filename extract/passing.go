package extract

import (
	"quoin/extract/cloud"
	"quoin/extract/outline"
)

// passings are the places where pulses passed the height of a roof, worked out
// when first asked for.
type passings struct {
	s      *surroundings
	shape  *roofShape
	number int32 // of the building
	grid   cloud.Grid
	places map[int32][][2]float64 // by cell
}

// near counts the pulses that passed within a radius of a place.
func (p *passings) near(x, y, radius float64) int {
	if p.places == nil {
		p.find(radius)
	}
	n := 0
	cells := cloud.NewGrid(cloud.Rect{MinX: x - radius, MinY: y - radius, MaxX: x + radius, MaxY: y + radius}, p.grid.Cell)
	for row := max(cells.Row0, p.grid.Row0); row < min(cells.Row0+cells.Rows, p.grid.Row0+p.grid.Rows); row++ {
		for col := max(cells.Col0, p.grid.Col0); col < min(cells.Col0+cells.Cols, p.grid.Col0+p.grid.Cols); col++ {
			for _, q := range p.places[int32((row-p.grid.Row0)*p.grid.Cols+col-p.grid.Col0)] {
				if dx, dy := q[0]-x, q[1]-y; dx*dx+dy*dy <= radius*radius {
					n++
				}
			}
		}
	}
	return n
}

// find takes the last returns below the roof, of no roof, to where their rays
// passed its height.
func (p *passings) find(radius float64) {
	p.places = make(map[int32][][2]float64)
	p.grid = cloud.NewGrid(p.shape.bounds(), radius)
	for i := range p.s.block.In(p.s.window(p.shape)) {
		q := &p.s.block.Points[i]
		if p.s.roofOf[i] >= 0 || q.Return() != q.Returns() {
			continue
		}
		o := outline.Observation{X: q.East(), Y: q.North()}
		z, near := p.shape.height(o.X, o.Y)
		if !p.s.pierce(q, p.shape, &o, crossing{z, near, p.s.below()}) {
			continue
		}
		if c, ok := p.grid.Index(o.X, o.Y); ok {
			p.places[int32(c)] = append(p.places[int32(c)], [2]float64{o.X, o.Y})
		}
	}
}

// stoppedLeast is the least number of pulses that must have stopped at a roof's
// height.
const stoppedLeast = 3

// stopped reports whether, about a stray on the roof, as many pulses ended on the
// roof carried on as went through its height, and three at least.
func (s *surroundings) stopped(strays []stray, c stray, passed *passings) bool {
	radius := max(0.3, 1.5*s.measures.Spacing)
	on := 0
	for _, o := range strays {
		if dx, dy := o.x-c.x, o.y-c.y; o.on && o.last && dx*dx+dy*dy <= radius*radius {
			on++
		}
	}
	return on >= stoppedLeast && on >= passed.near(c.x, c.y, radius)
}

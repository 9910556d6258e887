package ground

import "math"

const (
	// spreadNear and spreadFar are the radii, in cells, of the held cells whose
	// planes lead on to a cell; fewNear and fewFar how many of them there must
	// be.
	spreadNear, spreadFar = 2, 3
	fewNear, fewFar       = 3, 4
	// spreadSlope is how far from a cell's height, in metres a metre of
	// distance beyond the band, those cells may lie: cells across a wall know
	// nothing of what is on this side.
	spreadSlope = 0.6
	// spreadDamping, in square cells, lets a row of cells lead on level.
	spreadDamping = 0.25
	// spreadRounds bounds the rounds: a round goes a cell further, and no
	// strip of land between walls is longer without another way to it.
	spreadRounds = 200
)

// spread carries the surface on to cells that lie on the plane of held ones
// beside them, however far that leads: along strips between a wall and a house,
// to which the rough terrain has not come. Steps end it, and so do the planes
// of roofs, which meet the land at an angle.
func (r *refit) spread() {
	look := make([]int, r.Len())
	for i := range look {
		look[i] = i
	}
	queued := make([]bool, r.Len())
	for range spreadRounds {
		var found []int
		for _, i := range look {
			if v := r.above.v[i]; v == v && !r.held[i] && !r.raised[i] && r.leadsOn(i) {
				found = append(found, i)
			}
			queued[i] = false
		}
		if len(found) == 0 {
			return
		}
		for _, i := range found {
			r.held[i] = true
		}
		look = look[:0]
		for _, i := range found {
			r.about(i, spreadFar, func(at int, _, _ float64) {
				if !queued[at] && !r.held[at] {
					queued[at] = true
					look = append(look, at)
				}
			})
		}
	}
}

// about visits the cells within a number of columns and rows of one, with how
// many of these they are away.
func (r *refit) about(i, reach int, visit func(at int, dx, dy float64)) {
	row, col := i/r.Cols, i%r.Cols
	for y := max(row-reach, 0); y <= min(row+reach, r.Rows-1); y++ {
		for x := max(col-reach, 0); x <= min(col+reach, r.Cols-1); x++ {
			visit(y*r.Cols+x, float64(x-col), float64(y-row))
		}
	}
}

// leadsOn reports whether a cell lies on the plane of the held cells within
// one of two radii, and beside nothing raised at its level, as the end of a
// bridge or the eave of a house dug into a slope.
func (r *refit) leadsOn(i int) bool {
	band := max(admitBase, r.o.Tolerance)
	here := r.low[i]
	var near, far plane
	beside := false
	r.about(i, spreadFar, func(at int, dx, dy float64) {
		if beside || !r.held[at] && !r.raised[at] {
			return
		}
		if r.above.v[at] != r.above.v[at] {
			return
		}
		d := float64(r.low[at].z - here.z)
		if math.Abs(d) > band+spreadSlope*r.Cell*math.Hypot(dx, dy) {
			return
		}
		close := max(math.Abs(dx), math.Abs(dy)) <= spreadNear
		dx, dy = dx+float64(r.low[at].x-here.x), dy+float64(r.low[at].y-here.y)
		switch {
		case r.raised[at]:
			beside = beside || close
			return
		case close:
			near.add(dx, dy, d)
		}
		far.add(dx, dy, d)
	})
	if beside || near.n < fewNear {
		return false
	}
	onPlane := func(p *plane) bool {
		off, b, c := p.solve(spreadDamping)
		return math.Abs(off) <= band+slopeShare*math.Hypot(b, c)
	}
	return onPlane(&near) || far.n >= fewFar && onPlane(&far)
}

package accuracy

import (
	"github.com/paulmach/orb"
)

// Fewer corners or buildings than these do not tell a shift of the block from
// errors of its outlines.
const (
	shiftCorners   = 12
	shiftBuildings = 3
)

// takeShift finds the block's shift and takes it off the sides' offsets.
func (m *matching) takeShift() {
	var all []orb.Point
	buildings := 0
	for _, p := range m.block.Pairs {
		if len(p.Corners) > 0 {
			buildings++
		}
		for _, c := range p.Corners {
			all = append(all, c.Delta)
		}
	}
	if len(all) < shiftCorners || buildings < shiftBuildings {
		return
	}
	m.block.Shift, m.block.Shifted = centre(all), true
	for i := range m.block.Pairs {
		for k := range m.block.Pairs[i].Sides {
			s := &m.block.Pairs[i].Sides[k]
			s.Shifted -= m.block.Shift[0]*s.outward[0] + m.block.Shift[1]*s.outward[1]
		}
		for k := range m.block.Pairs[i].Walls {
			w := &m.block.Pairs[i].Walls[k]
			w.Shifted -= m.block.Shift[0]*w.outward[0] + m.block.Shift[1]*w.outward[1]
		}
	}
}

// centre returns the mean of the points within three times the median distance
// from their median.
func centre(all []orb.Point) orb.Point {
	var x, y, d []float64
	for _, p := range all {
		x, y = append(x, p[0]), append(y, p[1])
	}
	middle := orb.Point{median(x), median(y)}
	for _, p := range all {
		d = append(d, distance(p, middle))
	}
	limit := 3 * median(d)
	x, y = x[:0], y[:0]
	for i, p := range all {
		if d[i] <= limit {
			x, y = append(x, p[0]), append(y, p[1])
		}
	}
	return orb.Point{mean(x), mean(y)}
}

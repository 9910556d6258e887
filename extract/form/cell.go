package form

import (
	"math"

	"quoin/extract/cloud"
)

// A cell stands for the returns in a small square: their mean place and the
// surface that most of them lie on.
type cell struct {
	x, y  float64
	label int32
}

// mostCells bounds the number of cells that cuts are chosen on.
const mostCells = 6000

// cells sorts the points on surfaces into squares, by row, then column, and
// returns the squares with their side.
func (w *work) cells() ([]cell, float64) {
	if len(w.points) == 0 {
		return nil, w.measures.Spacing
	}
	bounds := cloud.Rect{MinX: math.Inf(1), MinY: math.Inf(1), MaxX: math.Inf(-1), MaxY: math.Inf(-1)}
	for _, p := range w.points {
		bounds.MinX, bounds.MaxX = min(bounds.MinX, p.X), max(bounds.MaxX, p.X)
		bounds.MinY, bounds.MaxY = min(bounds.MinY, p.Y), max(bounds.MaxY, p.Y)
	}
	area := float64(len(w.points)) * w.measures.Spacing * w.measures.Spacing
	side := max(w.measures.Spacing, math.Sqrt(area/mostCells))
	grid := cloud.NewGrid(bounds.Pad(side), side)
	sums := make([]sum, grid.Len())
	for _, p := range w.points {
		k, _ := grid.Index(p.X, p.Y)
		sums[k].add(p)
	}
	var list []cell
	for k := range sums {
		if s := &sums[k]; s.n > 0 {
			list = append(list, cell{s.x / float64(s.n), s.y / float64(s.n), s.most()})
		}
	}
	return list, side
}

// A sum is what is known of a cell while points are sorted: the sums of their
// places, and how many are on each surface, by rising number.
type sum struct {
	x, y  float64
	n     int
	votes []vote
}

type vote struct {
	label int32
	n     int
}

// add counts a point; points come by rising number of their surface.
func (s *sum) add(p Point) {
	s.x, s.y, s.n = s.x+p.X, s.y+p.Y, s.n+1
	if last := len(s.votes) - 1; last >= 0 && s.votes[last].label == p.Surface {
		s.votes[last].n++
		return
	}
	s.votes = append(s.votes, vote{p.Surface, 1})
}

// most returns the surface with the most points, the first of several.
func (s *sum) most() int32 {
	best := s.votes[0]
	for _, v := range s.votes[1:] {
		if v.n > best.n {
			best = v
		}
	}
	return best.label
}

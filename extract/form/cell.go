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
	type sum struct {
		x, y  float64
		n     int
		votes map[int32]int
	}
	sums := make([]sum, grid.Len())
	for _, p := range w.points {
		k, _ := grid.Index(p.X, p.Y)
		s := &sums[k]
		if s.votes == nil {
			s.votes = make(map[int32]int, 1)
		}
		s.x, s.y, s.n = s.x+p.X, s.y+p.Y, s.n+1
		s.votes[p.Surface]++
	}
	var list []cell
	for _, s := range sums {
		if s.n == 0 {
			continue
		}
		c := cell{x: s.x / float64(s.n), y: s.y / float64(s.n), label: -1}
		for label := range int32(len(w.surfaces)) {
			if v := s.votes[label]; v > 0 && (c.label < 0 || v > s.votes[c.label]) {
				c.label = label
			}
		}
		list = append(list, c)
	}
	return list, side
}

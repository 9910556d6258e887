package extract

import "quoin/extract/cloud"

// nearestOccupied returns for each cell of a grid the occupied cell that is
// nearest to it, or close to the nearest: the two-scan vector distance
// transform of Danielsson 1980 (Computer Graphics and Image Processing 14,
// 227–248), whose error is below a tenth of a cell. At least one cell must be
// occupied.
func nearestOccupied(g cloud.Grid, occupied func(cell int) bool) []int32 {
	source := make([]int32, g.Len())
	for c := range source {
		source[c] = -1
		if occupied(c) {
			source[c] = int32(c)
		}
	}
	t := transform{g, source}
	for row := range g.Rows {
		t.row(row, row-1)
	}
	for row := g.Rows - 1; row >= 0; row-- {
		t.row(row, row+1)
	}
	return source
}

type transform struct {
	grid   cloud.Grid
	source []int32
}

// row takes over what is nearer from the row before it and then from left and
// right.
func (t transform) row(row, before int) {
	base := row * t.grid.Cols
	if before >= 0 && before < t.grid.Rows {
		for col := range t.grid.Cols {
			t.take(base+col, before*t.grid.Cols+col)
		}
	}
	for col := 1; col < t.grid.Cols; col++ {
		t.take(base+col, base+col-1)
	}
	for col := t.grid.Cols - 2; col >= 0; col-- {
		t.take(base+col, base+col+1)
	}
}

// take lets a cell take over another's source when that is nearer.
func (t transform) take(cell, other int) {
	s := t.source[other]
	if s >= 0 && (t.source[cell] < 0 || t.distanceSq(cell, s) < t.distanceSq(cell, t.source[cell])) {
		t.source[cell] = s
	}
}

func (t transform) distanceSq(cell int, source int32) int {
	dr := cell/t.grid.Cols - int(source)/t.grid.Cols
	dc := cell%t.grid.Cols - int(source)%t.grid.Cols
	return dr*dr + dc*dc
}

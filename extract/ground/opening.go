package ground

import "math"

// opened reports which cells of a layer of heights above a trend stand on it:
// those that a morphological opening with a square takes more off than slope ·
// its radius. Radii grow to the given number of cells, each opening starting
// from what the one before left. All cells must be known.
// After Zhang et al. 2003 with the linear threshold of Pingel et al. 2013.
func opened(l layer, cell, radius, slope float64) []bool {
	object := make([]bool, len(l.v))
	last := l
	for _, r := range radii(int(math.Round(radius / cell))) {
		low := extreme(last, r, less)
		next := extreme(low, r, greater)
		limit := float32(slope * float64(r) * cell)
		for i, v := range next.v {
			if last.v[i]-v > limit {
				object[i] = true
			}
		}
		last = next
	}
	return object
}

// radii returns 1, 2, 3 … to 6 and then steps of a fifth up to the largest.
func radii(largest int) []int {
	var out []int
	for r := 1; r < largest; r += max(1, r/5) {
		out = append(out, r)
	}
	return append(out, max(largest, 1))
}

func less(a, b float32) bool    { return a < b }
func greater(a, b float32) bool { return a > b }

// extreme returns for each cell the least or greatest value within a square of
// the given radius; the square is cut off at the edge.
func extreme(l layer, radius int, before func(a, b float32) bool) layer {
	out := layer{l.rows, l.cols, make([]float32, len(l.v))}
	queue := make([]int, max(l.rows, l.cols))
	for row := range l.rows {
		extremeLine(l.v[row*l.cols:], out.v[row*l.cols:], line{l.cols, 1, radius}, queue, before)
	}
	mid := append([]float32(nil), out.v...)
	for col := range l.cols {
		extremeLine(mid[col:], out.v[col:], line{l.rows, l.cols, radius}, queue, before)
	}
	return out
}

// extremeLine keeps the positions that may yet be the extreme of a window, in
// order of position and of value: each enters and leaves once.
func extremeLine(from, to []float32, l line, queue []int, before func(a, b float32) bool) {
	head, tail, next := 0, 0, 0
	for i := range l.n {
		for ; next < l.n && next <= i+l.radius; next++ {
			for tail > head && before(from[next*l.stride], from[queue[tail-1]*l.stride]) {
				tail--
			}
			queue[tail] = next
			tail++
		}
		for queue[head] < i-l.radius {
			head++
		}
		to[i*l.stride] = from[queue[head]*l.stride]
	}
}

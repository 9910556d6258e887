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
		next := greatest(least(last, r), r)
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

// least returns for each cell the least value within a square of the given
// radius; the square is cut off at the edge.
//
// Along each axis it takes the lower of two runs that meet at a multiple of
// the window's width: three comparisons a cell, however wide (van Herk 1992,
// Gil and Werman 1993).
func least(l layer, radius int) layer {
	out := layer{l.rows, l.cols, make([]float32, len(l.v))}
	leastAlongRows(l, out, radius)
	leastAcrossRows(out, radius)
	return out
}

// greatest is least, of the greatest.
func greatest(l layer, radius int) layer {
	mirror := layer{l.rows, l.cols, make([]float32, len(l.v))}
	for i, v := range l.v {
		mirror.v[i] = -v
	}
	out := least(mirror, radius)
	for i, v := range out.v {
		out.v[i] = -v
	}
	return out
}

func lower(a, b float32) float32 {
	if b < a {
		return b
	}
	return a
}

// window1D is a window in a line: its first and last cell, and which runs fill
// it. They are on, from the first cell to the end of its block of a window's
// width, and upTo, from the start of its block to the last cell.
type window1D struct {
	first, last int
	on, upTo    bool
}

// runs returns the window of a radius about cell i of n.
func runs(i, n, radius int) window1D {
	w := window1D{first: max(i-radius, 0), last: min(i+radius, n-1)}
	width := 2*radius + 1
	apart := w.first/width != w.last/width
	w.upTo = apart || w.first%width == 0
	w.on = apart || !w.upTo
	return w
}

func leastAlongRows(l, out layer, radius int) {
	width, n := 2*radius+1, l.cols
	upTo, on := make([]float32, n), make([]float32, n)
	ends := make([]window1D, n)
	for i := range ends {
		ends[i] = runs(i, n, radius)
	}
	for row := range l.rows {
		from, to := l.v[row*n:(row+1)*n], out.v[row*n:(row+1)*n]
		copy(upTo, from)
		copy(on, from)
		for start := 0; start < n; start += width {
			end := min(start+width, n)
			for i := start + 1; i < end; i++ {
				upTo[i] = lower(upTo[i-1], upTo[i])
			}
			for i := end - 2; i >= start; i-- {
				on[i] = lower(on[i+1], on[i])
			}
		}
		for i := range to {
			e := &ends[i]
			switch {
			case e.on && e.upTo:
				to[i] = lower(on[e.first], upTo[e.last])
			case e.on:
				to[i] = on[e.first]
			default:
				to[i] = upTo[e.last]
			}
		}
	}
}

// leastAcrossRows does the same from row to row, whole rows at a time.
func leastAcrossRows(l layer, radius int) {
	width, n := 2*radius+1, l.cols
	upTo, on := append([]float32(nil), l.v...), append([]float32(nil), l.v...)
	row := func(v []float32, r int) []float32 { return v[r*n : (r+1)*n] }
	for start := 0; start < l.rows; start += width {
		end := min(start+width, l.rows)
		for r := start + 1; r < end; r++ {
			lowerRow(row(upTo, r), row(upTo, r-1), row(upTo, r))
		}
		for r := end - 2; r >= start; r-- {
			lowerRow(row(on, r), row(on, r+1), row(on, r))
		}
	}
	for r := range l.rows {
		e := runs(r, l.rows, radius)
		switch {
		case e.on && e.upTo:
			lowerRow(row(l.v, r), row(on, e.first), row(upTo, e.last))
		case e.on:
			copy(row(l.v, r), row(on, e.first))
		default:
			copy(row(l.v, r), row(upTo, e.last))
		}
	}
}

func lowerRow(to, a, b []float32) {
	a, b = a[:len(to)], b[:len(to)]
	for i := range to {
		to[i] = lower(a[i], b[i])
	}
}

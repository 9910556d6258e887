package ground

import "math"

// layer is a raster's values with its shape; NaN is unknown.
type layer struct {
	rows, cols int
	v          []float32
}

const (
	// sweeps a level of the pyramid gets. The level above has settled
	// everything wider than two cells already.
	sweeps = 6
	// overRelaxation speeds the sweeps up (Young 1954).
	overRelaxation = 1.4
)

// fill returns the layer with unknown cells filled by a membrane held by the
// known ones: the discrete Laplace equation, solved from coarse to fine. Its
// edge is free. A layer without any known cell becomes 0.
func fill(l layer) layer {
	known := true
	for _, v := range l.v {
		known = known && v == v
	}
	if known {
		return layer{l.rows, l.cols, append([]float32(nil), l.v...)}
	}
	if len(l.v) <= 1 {
		return layer{l.rows, l.cols, make([]float32, len(l.v))}
	}
	up := fill(halve(l))
	out := layer{l.rows, l.cols, make([]float32, len(l.v))}
	var open []int32
	for i, v := range l.v {
		if v == v {
			out.v[i] = v
			continue
		}
		out.v[i] = up.between(i/l.cols, i%l.cols)
		open = append(open, int32(i))
	}
	for range sweeps {
		out.relax(open)
	}
	return out
}

// halve returns the means of the known cells in squares of two by two.
func halve(l layer) layer {
	out := layer{rows: (l.rows + 1) / 2, cols: (l.cols + 1) / 2}
	out.v = make([]float32, out.rows*out.cols)
	for i := range out.v {
		sum, n := float32(0), float32(0)
		row, col := i/out.cols*2, i%out.cols*2
		for r := row; r < min(row+2, l.rows); r++ {
			for c := col; c < min(col+2, l.cols); c++ {
				if v := l.v[r*l.cols+c]; v == v {
					sum += v
					n++
				}
			}
		}
		out.v[i] = sum / n // NaN where none is known
	}
	return out
}

// between interpolates the value at a cell of the layer of twice the size.
func (l layer) between(row, col int) float32 {
	r0, c0 := row/2, col/2
	r1, c1 := r0-1+2*(row&1), c0-1+2*(col&1)
	r1, c1 = min(max(r1, 0), l.rows-1), min(max(c1, 0), l.cols-1)
	return (9*l.v[r0*l.cols+c0] + 3*l.v[r0*l.cols+c1] + 3*l.v[r1*l.cols+c0] + l.v[r1*l.cols+c1]) / 16
}

// relax moves each open cell towards the mean of its neighbours, in order.
func (l layer) relax(open []int32) {
	for _, at := range open {
		i := int(at)
		row, col := i/l.cols, i%l.cols
		sum, n := float32(0), float32(0)
		if row > 0 {
			sum += l.v[i-l.cols]
			n++
		}
		if row < l.rows-1 {
			sum += l.v[i+l.cols]
			n++
		}
		if col > 0 {
			sum += l.v[i-1]
			n++
		}
		if col < l.cols-1 {
			sum += l.v[i+1]
			n++
		}
		if n > 0 {
			l.v[i] += overRelaxation * (sum/n - l.v[i])
		}
	}
}

// smooth returns the layer's means over squares of the given radius in cells.
// At the edge the square shrinks on both sides, so that a plane stays a plane.
// All cells must be known.
func smooth(l layer, radius int) layer {
	out := layer{l.rows, l.cols, make([]float32, len(l.v))}
	for row := range l.rows {
		meanLine(l.v[row*l.cols:], out.v[row*l.cols:], line{l.cols, 1, radius})
	}
	mid := append([]float32(nil), out.v...)
	for col := range l.cols {
		meanLine(mid[col:], out.v[col:], line{l.rows, l.cols, radius})
	}
	return out
}

// line is a run of n cells a stride apart, and the radius of means along it.
type line struct{ n, stride, radius int }

func meanLine(from, to []float32, l line) {
	sum, lo, hi := float64(from[0]), 0, 0
	for i := range l.n {
		r := min(l.radius, i, l.n-1-i)
		for hi < i+r {
			hi++
			sum += float64(from[hi*l.stride])
		}
		for lo < i-r {
			sum -= float64(from[lo*l.stride])
			lo++
		}
		for lo > i-r {
			lo--
			sum += float64(from[lo*l.stride])
		}
		for hi > i+r {
			sum -= float64(from[hi*l.stride])
			hi--
		}
		to[i*l.stride] = float32(sum / float64(2*r+1))
	}
}

// steepness returns the slope at each cell, rise over run, by central
// differences. All cells must be known.
func steepness(l layer, cell float64) []float32 {
	out := make([]float32, len(l.v))
	for i := range l.v {
		row, col := i/l.cols, i%l.cols
		w, e := max(col-1, 0), min(col+1, l.cols-1)
		s, n := max(row-1, 0), min(row+1, l.rows-1)
		var gx, gy float32
		if e > w {
			gx = (l.v[row*l.cols+e] - l.v[row*l.cols+w]) / float32(e-w)
		}
		if n > s {
			gy = (l.v[n*l.cols+col] - l.v[s*l.cols+col]) / float32(n-s)
		}
		out[i] = hypot32(gx, gy) / float32(cell)
	}
	return out
}

func hypot32(x, y float32) float32 { return float32(math.Sqrt(float64(x*x + y*y))) }

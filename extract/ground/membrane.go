package ground

import "math"

// layer is a raster's values with its shape; NaN is unknown.
type layer struct {
	rows, cols int
	v          []float32
}

// fill returns the layer with unknown cells filled by a membrane held by the
// known ones: the discrete Laplace equation with a free edge. A layer without
// any known cell becomes 0.
//
// It starts from means pulled up and pushed down a pyramid and is brought to
// the solution by multigrid cycles (Brandt 1977): under a wide roof the start
// alone takes the means of its surroundings for its border.
func fill(l layer) layer {
	out, open := start(l)
	if len(open) == len(l.v) || len(open) == 0 {
		return out
	}
	m := newMultigrid(l.rows, l.cols, open)
	zero := make([]float32, len(l.v))
	for range cycles {
		m.cycle(out.v, zero)
	}
	return out
}

// cycles bring the error down by a factor of about five each.
const cycles = 3

// start returns the layer with unknown cells filled from a pyramid of means,
// and which they are.
func start(l layer) (out layer, open []int32) {
	for i, v := range l.v {
		if v != v {
			open = append(open, int32(i))
		}
	}
	out = layer{l.rows, l.cols, append([]float32(nil), l.v...)}
	switch {
	case len(open) == 0:
		return out, open
	case len(l.v) == 1:
		out.v[0] = 0
		return out, open
	}
	up, _ := start(halve(l))
	for _, i := range open {
		out.v[i] = up.between(int(i)/l.cols, int(i)%l.cols)
	}
	return out, open
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
		out[i] = steepnessAt(l, cell, i)
	}
	return out
}

// steepnessAt is steepness for one cell.
func steepnessAt(l layer, cell float64, i int) float32 {
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
	return hypot32(gx, gy) / float32(cell)
}

func hypot32(x, y float32) float32 { return float32(math.Sqrt(float64(x*x + y*y))) }

// A multigrid solves the Laplace equation on the open cells of a raster, the
// others holding their values. Coarser levels solve for corrections on cells
// of which all quarters are open.
type multigrid struct {
	rows, cols int
	open       []int32 // in scan order
	isOpen     []bool
	coarser    *multigrid // nil where no coarser cell is open
	// correction and source are the coarser level's unknowns and right side.
	correction, source []float32
}

// Sweeps before and after each correction; more of them on the last level,
// which has no other help.
const (
	sweepsDown, sweepsUp = 1, 2
	sweepsLast           = 8
)

func newMultigrid(rows, cols int, open []int32) *multigrid {
	m := &multigrid{rows: rows, cols: cols, open: open}
	m.isOpen = make([]bool, rows*cols)
	for _, i := range open {
		m.isOpen[i] = true
	}
	upRows, upCols := (rows+1)/2, (cols+1)/2
	var up []int32
	for i := range upRows * upCols {
		if m.quarters(i/upCols*2, i%upCols*2) {
			up = append(up, int32(i))
		}
	}
	if len(up) > 0 && upRows*upCols < rows*cols {
		m.coarser = newMultigrid(upRows, upCols, up)
		m.correction, m.source = make([]float32, upRows*upCols), make([]float32, upRows*upCols)
	}
	return m
}

// quarters reports whether all cells of a square of two by two are open.
func (m *multigrid) quarters(row, col int) bool {
	for r := row; r < min(row+2, m.rows); r++ {
		for c := col; c < min(col+2, m.cols); c++ {
			if !m.isOpen[r*m.cols+c] {
				return false
			}
		}
	}
	return true
}

// cycle brings u in place nearer to the solution of: sum over the neighbours
// of (neighbour − u) = source.
func (m *multigrid) cycle(u, source []float32) {
	if m.coarser == nil {
		m.relax(u, source, sweepsLast)
		return
	}
	m.relax(u, source, sweepsDown)
	up := m.coarser
	clear(m.correction)
	clear(m.source)
	for _, at := range m.open {
		i := int(at)
		sum, n := m.around(u, i)
		// The coarser operator spans twice the distance, so that the sum over
		// four quarters is its right side as it is.
		m.source[i/m.cols/2*up.cols+i%m.cols/2] += source[i] - (sum - n*u[i])
	}
	for range 2 { // a W cycle: corrections must be good for irregular holes
		up.cycle(m.correction, m.source)
	}
	coarse := layer{up.rows, up.cols, m.correction}
	for _, i := range m.open {
		u[i] += coarse.between(int(i)/m.cols, int(i)%m.cols)
	}
	m.relax(u, source, sweepsUp)
}

// relax sets each open cell to what its neighbours ask for, in scan order
// (Gauss and Seidel).
func (m *multigrid) relax(u, source []float32, sweeps int) {
	for range sweeps {
		for _, at := range m.open {
			if sum, n := m.around(u, int(at)); n > 0 {
				u[at] = (sum - source[at]) / n
			}
		}
	}
}

// around returns the sum of a cell's neighbours and their number.
func (m *multigrid) around(u []float32, i int) (sum, n float32) {
	row, col := i/m.cols, i%m.cols
	if row > 0 && col > 0 && row < m.rows-1 && col < m.cols-1 {
		return u[i-m.cols] + u[i-1] + u[i+1] + u[i+m.cols], 4
	}
	if row > 0 {
		sum += u[i-m.cols]
		n++
	}
	if row < m.rows-1 {
		sum += u[i+m.cols]
		n++
	}
	if col > 0 {
		sum += u[i-1]
		n++
	}
	if col < m.cols-1 {
		sum += u[i+1]
		n++
	}
	return sum, n
}

package ground

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

package ground

import "math"

// A raised region is a set of neighbouring cells without a step between them
// whose border steps down nearly all round: a roof, however wide, a vehicle,
// the crown of a tree. Terrain above a retaining wall steps down on one side
// only; a house dug into a slope runs into the terrain and is left to the
// facets and the opening. After the segmentation-based filters of Sithole and
// Vosselman 2005, "Filtering of airborne laser scanner data based on segmented
// point clouds".
const (
	// raisedShare is the share of the steps along the border that go down. The
	// rest is for what stands on roofs or leans over them.
	raisedShare = 0.75
	// bridgeGap is how many empty cells are filled from their neighbours.
	// Shadow beside a wall then gets its step somewhere in its middle.
	bridgeGap = 3
)

// regions are the step-bounded regions of a window's middle cells.
type regions struct {
	rows, cols int
	label      []int32 // of each cell, -1 where there is none
	up, down   []int32 // steps along the border of each label
	raised     []bool  // by label
	size       []int32
	ledge      []bool // by cell
}

// findRegions labels cells and tells which regions are raised. Regions wider
// than widest are taken for terrain: no roof is that wide.
func findRegions(l *lowest, step, widest float64) (r *regions, width float64) {
	z := bridged(l)
	r = &regions{rows: l.Rows, cols: l.Cols}
	r.labelCells(z, float32(step))
	r.countSteps(z)
	r.raised = make([]bool, len(r.up))
	for k := range r.raised {
		steps := float64(r.up[k] + r.down[k])
		r.raised[k] = steps > 0 && float64(r.down[k]) >= raisedShare*steps
	}
	width = r.widths(l.Cell, widest)
	r.markLedges(l, step)
	return r, width
}

// bridged returns the elevations with small gaps filled from the nearest
// cells.
func bridged(l *lowest) []float32 {
	z := append([]float32(nil), l.z...)
	next := make([]float32, len(z))
	for range bridgeGap {
		copy(next, z)
		for i, v := range z {
			if v != v {
				next[i] = lowestNeighbour(z, i, l.Rows, l.Cols)
			}
		}
		z, next = next, z
	}
	return z
}

func lowestNeighbour(z []float32, i, rows, cols int) float32 {
	low, row, col := nan32, i/cols, i%cols
	for _, o := range [4]offset{{-1, 0}, {0, -1}, {0, 1}, {1, 0}} {
		r, c := row+o.row, col+o.col
		if uint(r) >= uint(rows) || uint(c) >= uint(cols) {
			continue
		}
		if v := z[r*cols+c]; v == v && !(v >= low) {
			low = v
		}
	}
	return low
}

// labelCells joins neighbours that no step parts and numbers what results in
// scan order.
func (r *regions) labelCells(z []float32, step float32) {
	parent := make([]int32, len(z))
	for i := range parent {
		parent[i] = int32(i)
	}
	find := func(i int32) int32 {
		for parent[i] != i {
			parent[i] = parent[parent[i]]
			i = parent[i]
		}
		return i
	}
	join := func(i, j int) {
		if d := z[i] - z[j]; d <= step && d >= -step {
			a, b := find(int32(i)), find(int32(j))
			parent[max(a, b)] = min(a, b)
		}
	}
	for i := range z {
		if i%r.cols > 0 {
			join(i, i-1)
		}
		if i >= r.cols {
			join(i, i-r.cols)
		}
	}
	r.label = make([]int32, len(z))
	for i := range z {
		switch root := find(int32(i)); {
		case z[i] != z[i]:
			r.label[i] = -1
		case root == int32(i):
			r.label[i] = int32(len(r.size))
			r.size = append(r.size, 1)
		default:
			r.label[i] = r.label[root]
			r.size[r.label[i]]++
		}
	}
}

// countSteps counts the pairs of neighbouring cells in different regions, for
// each region those it stands above and those it stands below.
func (r *regions) countSteps(z []float32) {
	r.up, r.down = make([]int32, len(r.size)), make([]int32, len(r.size))
	count := func(i, j int) {
		a, b := r.label[i], r.label[j]
		switch {
		case a < 0 || b < 0 || a == b:
		case z[i] > z[j]:
			r.down[a]++
			r.up[b]++
		default:
			r.up[a]++
			r.down[b]++
		}
	}
	for i := range z {
		if i%r.cols > 0 {
			count(i, i-1)
		}
		if i >= r.cols {
			count(i, i-r.cols)
		}
	}
}

// widths clears raised regions that are too wide and returns the largest
// inscribed width of the others. The rim of the data bounds no region: what it
// cuts may be wider than is seen.
func (r *regions) widths(cell, widest float64) float64 {
	inside := r.depths()
	deepest := make([]int32, len(r.raised))
	for i, k := range r.label {
		if k >= 0 && inside[i] < math.MaxInt32 {
			deepest[k] = max(deepest[k], inside[i])
		}
	}
	width := 0.0
	for k, d := range deepest {
		w := float64(2*d) * cell
		if w > widest {
			r.raised[k] = false
		}
		if r.raised[k] {
			width = max(width, w)
		}
	}
	return width
}

// depths returns how many cells each cell of a raised region is from the next
// cell that is in none, the larger of the row and column distance.
func (r *regions) depths() []int32 {
	d := make([]int32, len(r.label))
	for i, k := range r.label {
		if k >= 0 && r.raised[k] {
			d[i] = math.MaxInt32
		}
	}
	pull := func(i, row, col int) {
		if uint(row) < uint(r.rows) && uint(col) < uint(r.cols) {
			if v := d[row*r.cols+col]; v < d[i] {
				d[i] = min(d[i], v+1)
			}
		}
	}
	for i := range d {
		row, col := i/r.cols, i%r.cols
		pull(i, row, col-1)
		pull(i, row-1, col-1)
		pull(i, row-1, col)
		pull(i, row-1, col+1)
	}
	for i := len(d) - 1; i >= 0; i-- {
		row, col := i/r.cols, i%r.cols
		pull(i, row, col+1)
		pull(i, row+1, col+1)
		pull(i, row+1, col)
		pull(i, row+1, col-1)
	}
	return d
}

// isRaised reports whether a cell lies in a raised region or on a ledge.
func (r *regions) isRaised(i int) bool {
	return r.label[i] >= 0 && r.raised[r.label[i]] || r.ledge != nil && r.ledge[i]
}

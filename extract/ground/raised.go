package ground

import (
	"math"

	"quoin/extract/cloud"
)

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
	cell       float64
	label      []int32 // of each cell, -1 where there is none
	up, down   []int32 // steps along the border of each label
	raised     []bool  // by label
	size       []int32
	fall       []float64 // sum of the steps down along the border, by label
	walls      map[wall]drop
	ledge      []bool // by cell: on a ledge, or in a pit of a roof
}

// findRegions labels cells and tells which regions are raised. Regions wider
// than widest are taken for terrain: no roof is that wide.
func findRegions(l *lowest, step, widest float64) (r *regions, width float64) {
	z := bridged(l)
	r = &regions{rows: l.Rows, cols: l.Cols, cell: l.Cell}
	r.labelCells(z, float32(step))
	r.countSteps(z)
	r.raised = make([]bool, len(r.up))
	for k := range r.raised {
		steps := float64(r.up[k] + r.down[k])
		r.raised[k] = steps > 0 && float64(r.down[k]) >= raisedShare*steps
	}
	r.spareTerraces(l.Cell)
	width = r.widths(l.Cell, widest)
	r.ledge = make([]bool, len(z))
	r.markPits()
	r.markLedges(z, step, l.Cell)
	return r, width
}

const (
	// terraceSize is the least size of a terrace in square metres.
	terraceSize = 60
	// terraceWall is the most, in metres, that its wall may be high on the
	// average. Lower than this no roof of that size leans on a higher one.
	terraceWall = 2.1
)

// spareTerraces clears raised regions that the rim of the data cuts and that
// are as large and low as a terrace: beyond the rim they may go on into terrain.
func (r *regions) spareTerraces(cell float64) {
	for i, k := range r.label {
		row, col := i/r.cols, i%r.cols
		rim := row == 0 || col == 0 || row == r.rows-1 || col == r.cols-1
		if rim && k >= 0 && float64(r.size[k])*cell*cell >= terraceSize && r.fall[k] <= terraceWall*float64(r.down[k]) {
			r.raised[k] = false
		}
	}
}

// wall is the border between two regions, drop the number and the sum of the
// steps along it.
type wall struct{ upper, lower int32 }

type drop struct {
	n    int32
	fall float64
}

// terraces returns which regions are terrain, by label: those given, and those
// of some size most of whose border falls by low walls to such. A lower roof
// beside a higher one is not reached: from the ground it is too high.
func (r *regions) terraces(from []int32, cell float64) []bool {
	terrain := make([]bool, len(r.size))
	for _, k := range from {
		terrain[k] = true
	}
	for grown := true; grown; {
		grown = false
		steps := make([]int32, len(r.size))
		for w, d := range r.walls { // sums of whole numbers: any order will do
			if terrain[w.lower] && d.fall <= terraceWall*float64(d.n) {
				steps[w.upper] += d.n
			}
		}
		for k, n := range steps {
			large := float64(r.size[k])*cell*cell >= terraceSize
			if !terrain[k] && !r.raised[k] && large && 2*n > r.down[k] {
				terrain[k], grown = true, true
			}
		}
	}
	return terrain
}

// standing tells what the points of a block stand on.
type standing struct {
	*regions
	at   locator
	cell float64
}

// of returns the region of a point, -1 for none, and whether it is raised.
func (s *standing) of(p *cloud.Point) (region int32, raised bool) {
	i := s.at.of(p)
	if i < 0 {
		return -1, false
	}
	return s.label[i], s.isRaised(i)
}

const (
	// pitSize is the most cells that a pit in a roof has.
	pitSize = 2
	// pitRoof is the least number of cells of a roof about a pit, pitShare the
	// largest share of its cells that pits may be: a crown has more holes.
	pitRoof, pitShare = 50, 0.03
)

// markPits marks cells with a roof all round that lie lower: returns through
// skylights and false ones, of which some come to lie near the ground's level.
func (r *regions) markPits() {
	pits := make([][]int, len(r.size))
	for i, k := range r.label {
		if k < 0 || r.raised[k] || r.size[k] > pitSize {
			continue
		}
		if roof := r.roofAbout(i); roof >= 0 {
			pits[roof] = append(pits[roof], i)
		}
	}
	for roof, cells := range pits {
		if float64(len(cells)) <= pitShare*float64(r.size[roof]) {
			for _, i := range cells {
				r.ledge[i] = true
			}
		}
	}
}

// roofAbout returns the label of the raised region that all cells about a cell
// belong to but for its own region's, or -1.
func (r *regions) roofAbout(i int) int32 {
	roof, row, col := int32(-1), i/r.cols, i%r.cols
	for y := max(row-1, 0); y <= min(row+1, r.rows-1); y++ {
		for x := max(col-1, 0); x <= min(col+1, r.cols-1); x++ {
			k := r.label[y*r.cols+x]
			if k == r.label[i] {
				continue
			}
			if k < 0 || !r.raised[k] || r.size[k] < pitRoof || roof >= 0 && k != roof {
				return -1
			}
			roof = k
		}
	}
	return roof
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
	r.fall = make([]float64, len(r.size))
	r.walls = make(map[wall]drop)
	count := func(i, j int) {
		if z[i] < z[j] {
			i, j = j, i
		}
		a, b := r.label[i], r.label[j]
		if a < 0 || b < 0 || a == b {
			return
		}
		r.down[a]++
		r.up[b]++
		fall := float64(z[i] - z[j])
		r.fall[a] += fall
		w := r.walls[wall{a, b}]
		r.walls[wall{a, b}] = drop{w.n + 1, w.fall + fall}
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
	return r.label[i] >= 0 && r.raised[r.label[i]] || r.ledge[i]
}

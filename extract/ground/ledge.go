package ground

import "math"

// A roof whose uphill eave lies at the ground runs into the terrain there, so
// no region stands apart. What it has is a drop near by on opposite sides: a
// ledge. The edge of a terrace drops on one side only, its corner across one
// diagonal, the terrain's own slopes not at all. A ledge whose plane runs on
// into wide terrain is a bridge where it falls off higher than terraces do, and
// else the crown of a bank.
const (
	// ledgeReach is how far, in metres, a drop may be: half a wide house.
	ledgeReach = 12.0
	// ledgePairs is how many of the four pairs of opposite directions must
	// drop on both sides.
	ledgePairs = 2
	// ledgeLeast is the least size of a ledge in cells. Smaller ones are left
	// to the opening.
	ledgeLeast = 8
	// ledgeFlat is how far from its plane, in metres, the surface of a ledge
	// may lie to be carried on: to the eave, where drops are too low or far.
	ledgeFlat = 0.2
	// frontCells is how many ledge cells there must be about the next one: as at
	// a front, but not at the end of a strip along a contour.
	frontCells = 3
	// ledgeFits is how often the plane is fitted.
	ledgeFits = 3
	// ledgeMost is the most it may grow to, in square metres: what goes on
	// further is terrain, a spur of a terrace or the crown of a bank.
	ledgeMost = 4 * ledgeReach * ledgeReach
	// deckStep is the least drop, in metres, on either side of the end of a
	// bridge, above what the ground's own roughness and slope make of a cell;
	// deckFlat how far from its plane the deck may lie, which is cambered.
	deckStep, deckFlat = 0.4, 0.4
)

// markLedges marks the regions' cells that lie on ledges as raised.
func (r *regions) markLedges(z []float32, step, cell float64) {
	reach := int32(math.Ceil(ledgeReach / cell))
	pairs := r.oppositeDrops(z, step, reach)
	done := make([]bool, len(z))
	var decks [][]int
	for i := range z {
		if !done[i] && pairs[i] >= ledgePairs && !r.isRaised(i) {
			cells := r.patch(i, done, func(j int) bool { return pairs[j] >= ledgePairs && !r.isRaised(j) })
			if !r.carryOn(z, cells, int(ledgeMost/(cell*cell)), step) && r.falls(z, cells, step) > terraceWall {
				decks = append(decks, cells)
			}
		}
	}
	if len(decks) > 0 {
		r.markDecks(z, decks, r.oppositeDrops(z, deckStep, reach))
	}
}

// oppositeDrops returns of each cell how many of the four pairs of opposite
// directions drop by a step within reach on both sides.
func (r *regions) oppositeDrops(z []float32, step float64, reach int32) []uint8 {
	pairs := make([]uint8, len(z))
	for _, d := range [4]offset{{0, 1}, {1, 0}, {1, 1}, {1, -1}} {
		limit := float32(step)
		ahead := r.drops(z, d, limit)
		behind := r.drops(z, offset{-d.row, -d.col}, limit)
		for i := range pairs {
			if ahead[i] <= reach && behind[i] <= reach {
				pairs[i]++
			}
		}
	}
	return pairs
}

// markDecks marks bridges, and on along their planes what still drops on
// two opposite sides by less: their ends above the banks, from which across a
// corner the land is reached.
func (r *regions) markDecks(z []float32, decks [][]int, pairs []uint8) {
	for _, cells := range decks {
		for _, i := range cells {
			r.ledge[i] = true
		}
		a, b, c := r.planeOf(z, cells)
		for head := 0; head < len(cells); head++ {
			r.neighbours(cells[head], func(j int) {
				off := float64(z[j]) - (a + b*float64(j%r.cols) + c*float64(j/r.cols))
				if !r.isRaised(j) && r.label[j] >= 0 && pairs[j] > 0 && math.Abs(off) <= deckFlat {
					r.ledge[j] = true
					cells = append(cells, j)
				}
			})
		}
	}
}

// planeOf returns the plane of least squares through some cells, by their
// columns and rows.
func (r *regions) planeOf(z []float32, cells []int) (a, b, c float64) {
	var fit plane
	for _, i := range cells {
		fit.add(float64(i%r.cols), float64(i/r.cols), float64(z[i]))
	}
	return fit.solve(1)
}

// noDrop is farther than any drop.
const noDrop = math.MaxInt32 / 2

// drops returns how many cells in a direction it is to a step down; noDrop
// where a step up or the end of the data comes first.
func (r *regions) drops(z []float32, d offset, limit float32) []int32 {
	out := make([]int32, len(z))
	visit := func(i int) {
		row, col := i/r.cols+d.row, i%r.cols+d.col
		out[i] = noDrop
		if uint(row) >= uint(r.rows) || uint(col) >= uint(r.cols) {
			return
		}
		next := row*r.cols + col
		switch fall := z[i] - z[next]; {
		case fall > limit:
			out[i] = 1
		case fall >= -limit:
			out[i] = min(out[next]+1, noDrop)
		}
	}
	// The next cell must be done before.
	if d.row > 0 || d.row == 0 && d.col > 0 {
		for i := len(z) - 1; i >= 0; i-- {
			visit(i)
		}
		return out
	}
	for i := range z {
		visit(i)
	}
	return out
}

// patch returns the cells of one region that can be reached from one by its
// four neighbours, in order of reaching, and marks them done.
func (r *regions) patch(i int, done []bool, in func(j int) bool) []int {
	cells := []int{i}
	done[i] = true
	for head := 0; head < len(cells); head++ {
		r.neighbours(cells[head], func(j int) {
			if !done[j] && r.label[j] == r.label[i] && in(j) {
				done[j] = true
				cells = append(cells, j)
			}
		})
	}
	return cells
}

func (r *regions) neighbours(i int, visit func(j int)) {
	row, col := i/r.cols, i%r.cols
	if row > 0 {
		visit(i - r.cols)
	}
	if col > 0 {
		visit(i - 1)
	}
	if col < r.cols-1 {
		visit(i + 1)
	}
	if row < r.rows-1 {
		visit(i + r.cols)
	}
}

// carryOn marks a ledge and the cells its plane leads on to, and on to the eave.
// The plane is fitted anew as it grows. What grows to most is none; false is
// returned.
func (r *regions) carryOn(z []float32, cells []int, most int, step float64) bool {
	if len(cells) < ledgeLeast {
		return true
	}
	for _, i := range cells {
		r.ledge[i] = true
	}
	for range ledgeFits {
		a, b, c := r.planeOf(z, cells)
		for head := 0; head < len(cells) && len(cells) < most; head++ {
			r.neighbours(cells[head], func(j int) {
				off := float64(z[j]) - (a + b*float64(j%r.cols) + c*float64(j/r.cols))
				if !r.ledge[j] && r.label[j] == r.label[cells[0]] && math.Abs(off) <= ledgeFlat && r.ledgesAbout(j) >= frontCells {
					r.ledge[j] = true
					cells = append(cells, j)
				}
			})
		}
	}
	if len(cells) < most {
		r.carryFurther(z, cells, most, step)
		return true
	}
	for _, i := range cells {
		r.ledge[i] = false
	}
	return false
}

// falls returns the mean height of the steps down from some cells; 0 when
// there are none.
func (r *regions) falls(z []float32, cells []int, step float64) float64 {
	n, sum := 0, 0.0
	for _, i := range cells {
		r.neighbours(i, func(j int) {
			if d := float64(z[i] - z[j]); d > step {
				n, sum = n+1, sum+d
			}
		})
	}
	return sum / float64(max(n, 1))
}

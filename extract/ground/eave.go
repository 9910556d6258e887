package ground

import (
	"math"
	"slices"
)

// A ledge's own plane does not lead over a ridge, and where the eave lies at
// the ground there is no drop near by. The rest of such a roof is found by the
// planes of the cells beside; what that comes to is a roof when its border
// falls off along much of it and turns away from the land where it does not.
const (
	// eaveReach is the radius, in cells, of the ledge's cells whose plane leads
	// on, eaveCells how many of them there must be, eaveDamping in square cells.
	eaveReach, eaveCells = 2, 5
	eaveDamping          = 0.01
	// eaveUp and eaveDown are the largest share of the border that may step up
	// and the least that must step down. A terrace has its wall uphill, and a
	// house on it.
	eaveUp, eaveDown = 0.15, 0.35
	// gapSides is how many of the eight neighbours of a gap are on the ledge.
	gapSides = 5
	// landReach is the radius, in cells, of the land and of the ledge that are
	// compared where no step parts them; landCells how many there must be.
	landReach, landCells = 2, 8
	// landTurn is the least difference of their slopes, rise over run; for
	// ledges larger than spurMost square metres, which houses are and corners of
	// terraces hardly, wideTurn.
	landTurn, wideTurn = 0.25, 0.1
	spurMost           = 40
	// eaveLand is the radius, in cells, of the land that a cell beside a ledge
	// is held against.
	eaveLand = 3
	// ledgeGain is how much larger than itself a ledge gets when it is a spur
	// of something else.
	ledgeGain = 3
)

// carryFurther carries a ledge on to its eave, leaves it as it is where that
// comes to no roof, and clears it where it is a spur of the land.
func (r *regions) carryFurther(z []float32, cells []int, most int, step float64) {
	base := len(cells)
	turn := landTurn
	if float64(base)*r.cell*r.cell > spurMost {
		turn = wideTurn
	}
	for n := 0; n < len(cells) && len(cells) < most; {
		n = len(cells)
		for head := 0; head < len(cells) && len(cells) < most; head++ {
			cells = r.mark(cells, head, func(j int) bool { return r.onSlope(z, j) })
		}
		for head := range cells {
			i := cells[head]
			cells = r.mark(cells, head, func(j int) bool {
				return math.Abs(float64(z[j]-z[i])) <= step && r.ledgesAbout(j) >= gapSides
			})
		}
	}
	if len(cells) < most && r.dropsRound(z, cells, step) {
		if r.slopeChange(z, cells, step) < turn {
			r.clear(cells)
			return
		}
		for head := range cells {
			i := cells[head]
			cells = r.mark(cells, head, func(j int) bool {
				return math.Abs(float64(z[j]-z[i])) <= step && r.aboveLand(z, j)
			})
		}
		return
	}
	r.clear(cells[base:])
	if len(cells) > ledgeGain*base && r.slopeChange(z, cells[:base], step) < turn {
		r.clear(cells[:base])
	}
}

// mark marks and adds those neighbours of a ledge's cell that are of its
// region and for which in holds.
func (r *regions) mark(cells []int, head int, in func(j int) bool) []int {
	r.neighbours(cells[head], func(j int) {
		if !r.ledge[j] && r.label[j] == r.label[cells[0]] && in(j) {
			r.ledge[j] = true
			cells = append(cells, j)
		}
	})
	return cells
}

func (r *regions) clear(cells []int) {
	for _, i := range cells {
		r.ledge[i] = false
	}
}

// around visits the cells of a region within a number of rows and columns of a
// cell, with how many of these they are away.
func (r *regions) around(i, reach int, visit func(j int, dx, dy float64)) {
	row, col := i/r.cols, i%r.cols
	for y := max(row-reach, 0); y <= min(row+reach, r.rows-1); y++ {
		for x := max(col-reach, 0); x <= min(col+reach, r.cols-1); x++ {
			if j := y*r.cols + x; r.label[j] == r.label[i] {
				visit(j, float64(x-col), float64(y-row))
			}
		}
	}
}

// onSlope reports whether a cell lies on the plane of the ledge's cells about.
func (r *regions) onSlope(z []float32, i int) bool {
	off, ok := r.offPlane(z, i, eaveReach, func(j int) bool { return r.ledge[j] })
	return ok && math.Abs(off) <= ledgeFlat
}

// aboveLand reports whether a cell stands above the plane of the land about
// it, what is beside a ledge left out: the eave takes a part of it.
func (r *regions) aboveLand(z []float32, i int) bool {
	off, ok := r.offPlane(z, i, eaveLand, func(j int) bool { return r.ledgesAbout(j) == 0 })
	return ok && off > ledgeFlat
}

// offPlane returns how far a cell stands above the plane through those about
// it that count, and whether there are enough.
func (r *regions) offPlane(z []float32, i, reach int, counts func(j int) bool) (float64, bool) {
	var fit plane
	r.around(i, reach, func(j int, dx, dy float64) {
		if counts(j) {
			fit.add(dx, dy, float64(z[i]-z[j]))
		}
	})
	if fit.n < eaveCells {
		return 0, false
	}
	off, _, _ := fit.solve(eaveDamping)
	return off, true
}

// ledgesAbout returns how many of a cell and its eight neighbours are on a
// ledge.
func (r *regions) ledgesAbout(i int) int {
	n := 0
	r.around(i, 1, func(j int, _, _ float64) {
		if r.ledge[j] {
			n++
		}
	})
	return n
}

// dropsRound reports whether the border of some cells steps down along much of
// it and hardly up.
func (r *regions) dropsRound(z []float32, cells []int, step float64) bool {
	in := make(map[int]bool, len(cells))
	for _, i := range cells {
		in[i] = true
	}
	var n, up, down float64
	for _, i := range cells {
		r.neighbours(i, func(j int) {
			if in[j] || r.label[j] < 0 {
				return
			}
			n++
			switch d := float64(z[i] - z[j]); {
			case d > step:
				down++
			case d < -step:
				up++
			}
		})
	}
	return up <= eaveUp*n && down >= eaveDown*n
}

// slopeChange returns by how much, rise over run, the slopes of a ledge and of
// the land differ about where no step parts them; infinity where there is no
// such place.
func (r *regions) slopeChange(z []float32, cells []int, step float64) float64 {
	done := make(map[int]bool)
	var roof, land []int
	for _, i := range cells {
		r.neighbours(i, func(j int) {
			if r.ledge[j] || r.label[j] != r.label[i] || math.Abs(float64(z[i]-z[j])) > step {
				return
			}
			r.around(j, landReach, func(k int, _, _ float64) {
				switch {
				case done[k]:
				case r.ledge[k]:
					roof = append(roof, k)
				default:
					land = append(land, k)
				}
				done[k] = true
			})
		})
	}
	if min(len(roof), len(land)) < landCells {
		return math.Inf(1)
	}
	bx, by := r.slopeOf(z, roof)
	lx, ly := r.slopeOf(z, land)
	return math.Hypot(bx-lx, by-ly) / r.cell
}

// slopeFits is how often a plane is fitted to what lies near it.
const slopeFits = 4

// slopeOf returns the rise a column and a row of the plane that most of some
// cells lie on.
func (r *regions) slopeOf(z []float32, cells []int) (b, c float64) {
	a, b, c := r.planeOf(z, cells)
	off, sorted := make([]float64, len(cells)), make([]float64, len(cells))
	for range slopeFits {
		for k, i := range cells {
			off[k] = math.Abs(float64(z[i]) - (a + b*float64(i%r.cols) + c*float64(i/r.cols)))
		}
		copy(sorted, off)
		slices.Sort(sorted)
		limit := max(2*sorted[len(sorted)/2], ledgeFlat/2)
		var fit plane
		for k, i := range cells {
			if off[k] <= limit {
				fit.add(float64(i%r.cols), float64(i/r.cols), float64(z[i]))
			}
		}
		a, b, c = fit.solve(eaveDamping)
	}
	return b, c
}

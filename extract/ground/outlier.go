package ground

// A cell is a low outlier when it lies below the means of nearly all pairs of
// cells opposite each other about it. The mean of such a pair is what a plane
// through both has at the cell, so the test holds on any slope, where the
// usual comparison with the neighbours' heights takes slopes for pits or
// leaves pits on slopes.
const (
	// pairReach is the reach of the pairs in cells; those within pairCore are
	// left out, so that a small cluster does not vouch for itself.
	pairReach, pairCore = 4, 1
	// pairShare is the share of pairs that must not be above for a cell to be
	// kept: a narrow alley has terrain only along it.
	pairShare = 0.1
	// fewPairs is what there is along the data's rim; with fewer, in corners,
	// lines from one side must do.
	fewPairs = 3
	// fewLines is the least number of those.
	fewLines = 8
)

type offset struct{ row, col int }

// pairOffsets returns one offset of each symmetric pair.
func pairOffsets() []offset {
	var out []offset
	for row := 0; row <= pairReach; row++ {
		for col := -pairReach; col <= pairReach; col++ {
			if max(row, abs(col)) > pairCore && (row > 0 || col > 0) {
				out = append(out, offset{row, col})
			}
		}
	}
	return out
}

func abs(v int) int { return max(v, -v) }

// dropOutliers takes low outliers out of fine cells in place. It looks at two
// scales: at the coarser one small clusters are single cells.
func dropOutliers(l *lowest, drop float64) {
	offsets := pairOffsets()
	rescued := make([]bool, len(l.z))
	for range 2 {
		low := lowCells(l, offsets, float32(drop))
		rescue(l, low, rescued, drop)
		for _, i := range low {
			if !rescued[i] {
				l.z[i] = nan32
			}
		}
	}
	if n := int(coarse / l.Cell); n > 1 {
		dropClusters(l, n, rescued, drop)
	}
}

// dropClusters takes cells out that are low among cells n times their side.
func dropClusters(l *lowest, n int, rescued []bool, drop float64) {
	offsets := pairOffsets()
	wide := l.gather(n)
	var low []int
	for _, i := range lowCells(wide, offsets, float32(drop)) {
		row, col := i/wide.Cols*n, i%wide.Cols*n
		limit := pairQuantile(wide, i, offsets) - float32(drop)
		for r := row; r < row+n; r++ {
			for c := col; c < col+n; c++ {
				if at := r*l.Cols + c; l.z[at] < limit && !hasCompany(l, at) {
					low = append(low, at)
				}
			}
		}
	}
	rescue(l, low, rescued, drop)
	for _, i := range low {
		if !rescued[i] {
			l.z[i] = nan32
		}
	}
}

// lowCells returns the cells that lie below nearly all of their pair means.
func lowCells(l *lowest, offsets []offset, drop float32) []int {
	var low []int
	for i, z := range l.z {
		if z == z && isLow(l, i, offsets, drop) && !hasCompany(l, i) {
			low = append(low, i)
		}
	}
	return low
}

func isLow(l *lowest, i int, offsets []offset, drop float32) bool {
	row, col, limit := i/l.Cols, i%l.Cols, 2*(l.z[i]+drop)
	allowed := int(pairShare * float64(len(offsets)))
	pairs, below := 0, 0
	for _, o := range offsets {
		sum := l.at(row+o.row, col+o.col) + l.at(row-o.row, col-o.col)
		if sum != sum {
			continue
		}
		pairs++
		if sum <= limit {
			below++
			if below > allowed {
				return false
			}
		}
	}
	if pairs < fewPairs {
		return isLowInCorner(l, i, drop)
	}
	return below <= int(pairShare*float64(pairs))
}

// At the foot of a wall nearly all pairs have one cell on top of it. Such a
// cell is one of many that lead on from each other, which an outlier, or a few
// together, are not.
const (
	companyRough = 0.45 // metres from cell to cell
	companyCount = 8    // more than a cluster of outliers has cells
	companySide  = 2*pairReach + 1
)

// hasCompany reports whether more than companyCount cells can be reached from
// a cell without a step, all within the reach of the pairs.
func hasCompany(l *lowest, i int) bool {
	row, col := i/l.Cols-pairReach, i%l.Cols-pairReach
	var seen [companySide * companySide]bool
	queue := make([]int, 1, companySide*companySide)
	queue[0] = pairReach*companySide + pairReach
	seen[queue[0]] = true
	for head := 0; head < len(queue); head++ {
		r, c := queue[head]/companySide, queue[head]%companySide
		z := l.at(row+r, col+c)
		for y := max(r-1, 0); y <= min(r+1, companySide-1); y++ {
			for x := max(c-1, 0); x <= min(c+1, companySide-1); x++ {
				d := l.at(row+y, col+x) - z
				if at := y*companySide + x; !seen[at] && d <= companyRough && d >= -companyRough {
					seen[at] = true
					queue = append(queue, at)
				}
			}
		}
		if len(queue) > companyCount {
			return true
		}
	}
	return false
}

// isLowInCorner judges by lines carried on from one side, where the data have no
// other: twice the near cell less the far one.
func isLowInCorner(l *lowest, i int, drop float32) bool {
	row, col, limit := i/l.Cols, i%l.Cols, l.z[i]+drop
	lines, below := 0, 0
	for r := -pairReach; r <= pairReach; r++ {
		for c := -pairReach; c <= pairReach; c++ {
			if max(abs(r), abs(c)) <= pairCore {
				continue
			}
			z := 2*l.at(row+r, col+c) - l.at(row+2*r, col+2*c)
			if z != z {
				continue
			}
			lines++
			if z <= limit {
				below++
			}
		}
	}
	return lines >= fewLines && below <= int(pairShare*float64(lines))
}

// pairQuantile returns the height that a share pairShare of the pair means
// does not reach.
func pairQuantile(l *lowest, i int, offsets []offset) float32 {
	row, col := i/l.Cols, i%l.Cols
	var least [4]float32 // ascending
	n := 0
	for _, o := range offsets {
		mean := (l.at(row+o.row, col+o.col) + l.at(row-o.row, col-o.col)) / 2
		if mean != mean {
			continue
		}
		at := min(n, len(least))
		for at > 0 && least[at-1] > mean {
			if at < len(least) {
				least[at] = least[at-1]
			}
			at--
		}
		if at < len(least) {
			least[at] = mean
		}
		n++
	}
	if n == 0 {
		return l.z[i]
	}
	return least[min(int(pairShare*float64(n)), n-1, len(least)-1)]
}

// at returns the cell's elevation, NaN outside the grid.
func (l *lowest) at(row, col int) float32 {
	if uint(row) >= uint(l.Rows) || uint(col) >= uint(l.Cols) {
		return nan32
	}
	return l.z[row*l.Cols+col]
}

// Under dense canopy the few returns from the ground are low in the same way
// as outliers are. What tells them apart is that they lie on one surface.
const (
	rescueRadius = 8.0   // metres
	rescueCount  = 8     // cells that agree, at least
	rescueFill   = 0.015 // of all cells about: outliers are rarer
	rescueShare  = 0.6   // of the low cells about that are no higher
	rescueSlope  = 0.5   // of the surface they share
	rescueRough  = 0.3   // metres
)

// rescue marks those of the low cells that agree with most low cells about
// them but for higher ones (the crowns have their own), and do not lie below
// the plane of those.
func rescue(l *lowest, low []int, rescued []bool, drop float64) {
	isLow := append([]bool(nil), rescued...)
	for _, i := range low {
		isLow[i] = true
	}
	for _, i := range low {
		if agrees(l, i, isLow, drop) {
			rescued[i] = true
		}
	}
}

func agrees(l *lowest, i int, isLow []bool, drop float64) bool {
	reach := int(rescueRadius / l.Cell)
	row, col, z := i/l.Cols, i%l.Cols, float64(l.z[i])
	cells, same, below := 0, 0, 0
	var surface plane
	for r := max(row-reach, 0); r <= min(row+reach, l.Rows-1); r++ {
		for c := max(col-reach, 0); c <= min(col+reach, l.Cols-1); c++ {
			cells++
			if at := r*l.Cols + c; isLow[at] && at != i {
				limit := rescueRough + rescueSlope*l.Cell*float64(max(abs(r-row), abs(c-col)))
				switch d := float64(l.z[at]) - z; {
				case d < -limit:
					below++
				case d <= limit:
					same++
					surface.add(float64(c-col), float64(r-row), d)
				}
			}
		}
	}
	least := max(rescueCount, rescueFill*float64(cells), rescueShare*float64(same+below))
	if float64(same) < least {
		return false
	}
	above, _, _ := surface.solve(1)
	return above <= drop
}

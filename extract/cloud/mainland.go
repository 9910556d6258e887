package cloud

import (
	"fmt"
	"math"
	"slices"

	"quoin/vector"
)

// squareSize is the side in metres of the squares that points are counted in
// to tell the block from garbage far away.
const squareSize = 1000

// reach is how many squares two parts of one block may lie apart.
const reach = 5

// keepShare is the share of all points from which a part of its own counts as
// data and not as garbage.
const keepShare = 1e-3

// widest is the largest extent of a block in metres: what packed coordinates
// hold, with room for margins.
const widest = 200e3

// A square is the column and row of a square of squareSize.
type square [2]int32

// A mass is a set of squares with the number of points in each.
type mass map[square]int

// mainland returns the squares that hold the block: the connected parts that
// have at least keepShare of all points.
func mainland(squares map[square]int) mass {
	total := 0
	for _, n := range squares {
		total += n
	}
	home := make(mass)
	left := make(mass, len(squares))
	for s, n := range squares {
		left[s] = n
	}
	for _, seed := range sortedSquares(squares) {
		if _, ok := left[seed]; !ok {
			continue
		}
		part, count := flood(left, seed)
		if float64(count) >= keepShare*float64(total) {
			for _, s := range part {
				home[s] = squares[s]
			}
		}
	}
	return home
}

func sortedSquares(squares map[square]int) []square {
	keys := make([]square, 0, len(squares))
	for s := range squares {
		keys = append(keys, s)
	}
	slices.SortFunc(keys, func(a, b square) int { return slices.Compare(a[:], b[:]) })
	return keys
}

// flood takes the part that holds seed out of left.
func flood(left mass, seed square) (part []square, count int) {
	count = left[seed]
	delete(left, seed)
	part = []square{seed}
	for i := 0; i < len(part); i++ {
		for dx := int32(-reach); dx <= reach; dx++ {
			for dy := int32(-reach); dy <= reach; dy++ {
				s := square{part[i][0] + dx, part[i][1] + dy}
				if n, ok := left[s]; ok {
					delete(left, s)
					count += n
					part = append(part, s)
				}
			}
		}
	}
	return part, count
}

// frame returns the frame of a block on these squares.
func (m mass) frame(crs vector.CRS) (Frame, error) {
	lo, hi := square{math.MaxInt32, math.MaxInt32}, square{math.MinInt32, math.MinInt32}
	for s := range m {
		lo = square{min(lo[0], s[0]), min(lo[1], s[1])}
		hi = square{max(hi[0], s[0]), max(hi[1], s[1])}
	}
	if extent := squareSize * float64(max(hi[0]-lo[0], hi[1]-lo[1])); extent > widest {
		return Frame{}, fmt.Errorf("the points spread over %.0f km: give the files of one site at a time", extent/1000)
	}
	down := func(s int32) float64 { return math.Floor(float64(s)*squareSize/OriginStep) * OriginStep }
	return Frame{down(lo[0]), down(lo[1]), crs.Horizontal.Metres, crs.Vertical.Metres}, nil
}

func median(values []float64) float64 {
	sorted := make([]float64, 0, len(values))
	for _, v := range values {
		if finite(v) {
			sorted = append(sorted, v)
		}
	}
	if len(sorted) == 0 {
		return 0
	}
	slices.Sort(sorted)
	return sorted[len(sorted)/2]
}

package land

import (
	"math"

	"quoin/extract/scene/solid"
)

// nearCell is the size of a cell of the index in metres: about that of a house,
// so that a house is in a few cells and a cell holds a few things.
const nearCell = 16

// near is an index of numbered things by place. The numbers of a cell are in
// the order they were added.
type near map[[2]int][]int

func cellOf(p solid.Point) [2]int {
	return [2]int{int(math.Floor(p.X / nearCell)), int(math.Floor(p.Y / nearCell))}
}

// add enters thing i, which lies between two corners.
func (n near) add(i int, low, high solid.Point) {
	from, to := cellOf(low), cellOf(high)
	for x := from[0]; x <= to[0]; x++ {
		for y := from[1]; y <= to[1]; y++ {
			n[[2]int{x, y}] = append(n[[2]int{x, y}], i)
		}
	}
}

// at returns the things that may be at p.
func (n near) at(p solid.Point) []int { return n[cellOf(p)] }

// around returns the things that may be within a distance of p, some of them
// more than once.
func (n near) around(p solid.Point, distance float64) []int {
	reach := solid.Point{X: distance, Y: distance}
	from, to := cellOf(p.Sub(reach)), cellOf(p.Add(reach))
	var all []int
	for x := from[0]; x <= to[0]; x++ {
		for y := from[1]; y <= to[1]; y++ {
			all = append(all, n[[2]int{x, y}]...)
		}
	}
	return all
}

package extract

import (
	"math"

	"quoin/extract/cloud"
	"quoin/extract/outline"
)

// An extent is where the block has data, so that a building which its edge
// cuts can be told.
type extent struct {
	grid   cloud.Grid
	beyond []bool // outside the data
}

const (
	// extentCell is the least side of the cells, in metres.
	extentCell = 2
	// bridged is the number of cells across which data close a gap, as behind
	// a building that hides the ground.
	bridged = 3
	// cutShare and cutLength are how much of an outline must lie at the edge
	// of the data for the building to count as cut, as a share and in metres.
	cutShare, cutLength = 0.05, 1.5
)

// newExtent maps where the block has data.
func newExtent(b *cloud.Block) *extent {
	bounds := b.Bounds()
	area := (bounds.MaxX - bounds.MinX) * (bounds.MaxY - bounds.MinY)
	cell := max(extentCell, math.Ceil(4*math.Sqrt(area/float64(b.Len()+1))))
	grid := cloud.NewGrid(bounds.Pad((bridged+2)*cell), cell)
	has := make([]bool, grid.Len())
	for i := range b.Points {
		c, _ := grid.Index(b.Points[i].East(), b.Points[i].North())
		has[c] = true
	}
	covered := within(grid, has, bridged)
	open := make([]bool, len(covered))
	for i, c := range covered {
		open[i] = !c
	}
	e := &extent{grid: grid, beyond: within(grid, open, bridged)}
	e.keepOutside()
	return e
}

// within returns the cells at most so many cells from a marked one.
func within(g cloud.Grid, marked []bool, cells int) []bool {
	source := nearestOccupied(g, func(c int) bool { return marked[c] })
	near := make([]bool, g.Len())
	for c, s := range source {
		near[c] = s >= 0 && distanceSq(g, c, int(s)) <= cells*cells
	}
	return near
}

// keepOutside takes away what is not connected to the border: water and other
// gaps within the data.
func (e *extent) keepOutside() {
	reached := make([]bool, e.grid.Len())
	stack := []int{0} // a corner of the grid, which lies beyond the data
	for len(stack) > 0 {
		c := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		if reached[c] || !e.beyond[c] {
			continue
		}
		reached[c] = true
		row, col := c/e.grid.Cols, c%e.grid.Cols
		if row > 0 {
			stack = append(stack, c-e.grid.Cols)
		}
		if row < e.grid.Rows-1 {
			stack = append(stack, c+e.grid.Cols)
		}
		if col > 0 {
			stack = append(stack, c-1)
		}
		if col < e.grid.Cols-1 {
			stack = append(stack, c+1)
		}
	}
	e.beyond = reached
}

// cuts reports whether the edge of the data runs along an outline.
func (e *extent) cuts(ring []outline.Vertex) bool {
	var cut, length float64
	for i, a := range ring {
		b := ring[(i+1)%len(ring)]
		l := math.Hypot(b.X-a.X, b.Y-a.Y)
		if l == 0 {
			continue
		}
		nx, ny := (b.Y-a.Y)/l*e.grid.Cell, -(b.X-a.X)/l*e.grid.Cell // outward
		steps := math.Ceil(l)
		for k := range int(steps) {
			f := (float64(k) + 0.5) / steps
			if e.outside(a.X+f*(b.X-a.X)+nx, a.Y+f*(b.Y-a.Y)+ny) {
				cut += l / steps
			}
		}
		length += l
	}
	return cut >= cutLength && cut >= cutShare*length
}

func (e *extent) outside(x, y float64) bool {
	c, ok := e.grid.Index(x, y)
	return !ok || e.beyond[c]
}

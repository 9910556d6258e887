package outline

import "math"

// A raster counts observations in the cells of a grid turned by an angle and labels each cell by majority. It gives a fit its start,
// good to about the size of a cell, and nothing else comes from it.
type raster struct {
	cos, sin   float64
	u0, v0     float64 // lower left of cell (0, 0) in the turned frame
	cell       float64
	rows, cols int
	in, out    []int32
	hidden     []int32 // observations that know no side
	// inX.. are sums of turned coordinates, for boundary points finer than a cell; nil when not asked for.
	inU, inV, outU, outV []float64
}

// newRaster counts obs in cells of the given size, turned so that columns run along theta. A border of one cell stays empty. Cells grow
// where the box would hold more than maxCells of them.
func newRaster(obs []Observation, theta, cell float64, centroids bool) *raster {
	g := &raster{cell: cell, u0: math.Inf(1), v0: math.Inf(1)}
	g.sin, g.cos = math.Sincos(theta)
	u1, v1 := math.Inf(-1), math.Inf(-1)
	for _, o := range obs {
		u, v := g.turn(o.X, o.Y)
		g.u0, g.v0, u1, v1 = min(g.u0, u), min(g.v0, v), max(u1, u), max(v1, v)
	}
	const maxCells = 8e6
	for (u1-g.u0)/g.cell*((v1-g.v0)/g.cell) > maxCells {
		g.cell *= 2
	}
	g.u0, g.v0 = g.u0-1.5*g.cell, g.v0-1.5*g.cell
	g.cols, g.rows = int((u1-g.u0)/g.cell)+2, int((v1-g.v0)/g.cell)+2
	g.in, g.out, g.hidden = make([]int32, g.rows*g.cols), make([]int32, g.rows*g.cols), make([]int32, g.rows*g.cols)
	if centroids {
		g.inU, g.inV = make([]float64, len(g.in)), make([]float64, len(g.in))
		g.outU, g.outV = make([]float64, len(g.in)), make([]float64, len(g.in))
	}
	for _, o := range obs {
		g.count(o)
	}
	return g
}

func (g *raster) turn(x, y float64) (u, v float64) { return g.cos*x + g.sin*y, g.cos*y - g.sin*x }

func (g *raster) count(o Observation) {
	u, v := g.turn(o.X, o.Y)
	c := int((v-g.v0)/g.cell)*g.cols + int((u-g.u0)/g.cell)
	switch o.Side {
	case Inside:
		g.in[c]++
		if g.inU != nil {
			g.inU[c] += u
			g.inV[c] += v
		}
	case Outside:
		g.out[c]++
		if g.inU != nil {
			g.outU[c] += u
			g.outV[c] += v
		}
	default:
		g.hidden[c]++
	}
}

// label is what a cell is taken for.
type label int8

const (
	blank label = iota // nothing seen
	roof
	open // seen to be off the roof
)

// labels gives each cell its majority; a cell without one takes that of at least five of its eight neighbours.
func (g *raster) labels() []label {
	lab := make([]label, len(g.in))
	for c := range lab {
		switch {
		case g.in[c] > g.out[c]:
			lab[c] = roof
		case g.out[c] > g.in[c]:
			lab[c] = open
		}
	}
	for range 3 {
		lab = g.fillBlanks(lab)
	}
	return lab
}

func (g *raster) fillBlanks(lab []label) []label {
	next := append([]label(nil), lab...)
	for row := 1; row < g.rows-1; row++ {
		for col := 1; col < g.cols-1; col++ {
			c := row*g.cols + col
			if lab[c] != blank {
				continue
			}
			votes := [3]int{}
			for dr := -g.cols; dr <= g.cols; dr += g.cols {
				for dc := -1; dc <= 1; dc++ {
					votes[lab[c+dr+dc]]++
				}
			}
			if votes[roof] >= 5 {
				next[c] = roof
			} else if votes[open] >= 5 {
				next[c] = open
			}
		}
	}
	return next
}

// components numbers the 4-connected (or 8-connected) regions of cells for which member holds, from 1 in order of their first cell.
func (g *raster) components(member func(c int) bool, diagonal bool) (id []int32, n int) {
	id = make([]int32, len(g.in))
	var stack []int32
	for first := range id {
		if id[first] != 0 || !member(first) {
			continue
		}
		n++
		id[first] = int32(n)
		stack = append(stack[:0], int32(first))
		for len(stack) > 0 {
			c := int(stack[len(stack)-1])
			stack = stack[:len(stack)-1]
			row, col := c/g.cols, c%g.cols
			for dr := -1; dr <= 1; dr++ {
				for dc := -1; dc <= 1; dc++ {
					r, k := row+dr, col+dc
					if r < 0 || k < 0 || r >= g.rows || k >= g.cols || (dr != 0 && dc != 0 && !diagonal) {
						continue
					}
					if d := r*g.cols + k; id[d] == 0 && member(d) {
						id[d] = int32(n)
						stack = append(stack, int32(d))
					}
				}
			}
		}
	}
	return id, n
}

// given is how far from a roof, in metres, pulses that passed it are asked for: four metres or ten spacings. Farther off none need be given.
func given(spacing float64) float64 { return max(4, 10*spacing) }

// body keeps the largest region of roof and closes the gaps in it that are no courtyards: those smaller than minArea, and those in
// which less than a quarter of the pulses that would pass a courtyard near enough to the roof to be given are seen to have
// passed. It returns which cells belong.
func (g *raster) body(lab []label, minArea, spacing float64) []bool {
	id, n := g.components(func(c int) bool { return lab[c] == roof }, false)
	body := make([]bool, len(lab))
	if n == 0 {
		return body
	}
	points := make([]int, n+1)
	for c, k := range id {
		if k > 0 {
			points[k] += int(g.in[c])
		}
	}
	best := 1
	for k := 2; k <= n; k++ {
		if points[k] > points[best] {
			best = k
		}
	}
	for c, k := range id {
		body[c] = int(k) == best
	}
	gap, n := g.components(func(c int) bool { return !body[c] }, true)
	cells, seen, sides := make([]int, n+1), make([]int, n+1), make([]int, n+1)
	for c, k := range gap {
		cells[k]++
		seen[k] += int(g.out[c])
		if k > 0 {
			sides[k] += g.sidesOf(c, body)
		}
	}
	for c, k := range gap {
		if k == 0 || k == gap[0] {
			continue
		}
		area := float64(cells[k]) * g.cell * g.cell
		within := min(area, float64(sides[k])*g.cell*given(spacing))
		if area < minArea || float64(seen[k]) < max(6, 0.25*within/(spacing*spacing)) {
			body[c] = true
		}
	}
	return body
}

// sidesOf counts the sides that a cell has in common with cells of the body.
func (g *raster) sidesOf(c int, body []bool) (n int) {
	row, col := c/g.cols, c%g.cols
	for _, d := range [4][2]int{{-1, 0}, {1, 0}, {0, -1}, {0, 1}} {
		if r, k := row+d[0], col+d[1]; r >= 0 && k >= 0 && r < g.rows && k < g.cols && body[r*g.cols+k] {
			n++
		}
	}
	return n
}

// coarsen adds up blocks of ratio × ratio cells.
func (g *raster) coarsen(ratio int) *raster {
	c := &raster{
		cos: g.cos, sin: g.sin, u0: g.u0, v0: g.v0, cell: g.cell * float64(ratio),
		rows: (g.rows + ratio - 1) / ratio, cols: (g.cols + ratio - 1) / ratio,
	}
	c.in, c.out, c.hidden = make([]int32, c.rows*c.cols), make([]int32, c.rows*c.cols), make([]int32, c.rows*c.cols)
	for row := range g.rows {
		for col := range g.cols {
			k := row/ratio*c.cols + col/ratio
			c.in[k] += g.in[row*g.cols+col]
			c.out[k] += g.out[row*g.cols+col]
			c.hidden[k] += g.hidden[row*g.cols+col]
		}
	}
	return c
}

package outline

// A step is an edge of a lattice polygon: it runs along +u, +v, -u or -v for way 0 to 3, the roof on its left, at the lattice line
// at (of v for ways 0 and 2, of u for 1 and 3).
type step struct{ way, at int }

// A lattice is a rectilinear polygon on the lines of a fine grid, with the misclassified points of every block of cells at hand.
type lattice struct {
	rows, cols int
	// sums is the two-dimensional running sum of what it costs to have a block inside: see runningSums.
	sums  []int32
	rings [][]step
}

// trace follows the border of the body of a coarse raster, of which each cell is ratio cells of the fine one. Cells that meet only at
// a corner are kept apart.
func trace(g *raster, body []bool, ratio int) [][]step {
	inside := func(row, col int) bool {
		return row >= 0 && col >= 0 && row < g.rows && col < g.cols && body[row*g.cols+col]
	}
	done := make([]bool, len(body))
	var rings [][]step
	for row := 0; row < g.rows; row++ {
		for col := 0; col < g.cols; col++ {
			if inside(row, col) && !inside(row-1, col) && !done[row*g.cols+col] {
				rings = append(rings, follow(inside, done, g.cols, row, col, ratio))
			}
		}
	}
	return rings
}

// follow walks one ring from the lower side of a cell, marking the lower sides it passes.
func follow(inside func(row, col int) bool, done []bool, cols, row, col, ratio int) []step {
	ahead := [4][2][2]int{ // cells left and right ahead of a node, by way
		{{0, 0}, {-1, 0}}, {{0, -1}, {0, 0}}, {{-1, -1}, {0, -1}}, {{-1, 0}, {-1, -1}},
	}
	move := [4][2]int{{0, 1}, {1, 0}, {0, -1}, {-1, 0}}
	r, c, way := row, col, 0
	var ring []step
	for {
		if way == 0 {
			if done[r*cols+c] {
				break
			}
			done[r*cols+c] = true
		}
		if len(ring) == 0 || ring[len(ring)-1].way != way {
			at := r
			if way&1 == 1 {
				at = c
			}
			ring = append(ring, step{way, at * ratio})
		}
		r, c = r+move[way][0], c+move[way][1]
		left, right := ahead[way][0], ahead[way][1]
		if !inside(r+left[0], c+left[1]) {
			way = (way + 1) & 3
		} else if inside(r+right[0], c+right[1]) {
			way = (way + 3) & 3
		}
	}
	if n := len(ring); n > 1 && ring[n-1] == ring[0] {
		ring = ring[:n-1] // the walk began inside an edge
	}
	return ring
}

// pointWeight is the weight of a point in the cost of a block, so that an empty cell's share of one is whole too: a cell of the coarse
// raster is two and a quarter points large, and one ninth of it is a cell of the fine one.
const pointWeight = 4

// runningSums makes the two-dimensional running sums of the weighted open less roof points of a fine raster. Where its coarse raster
// has empty cells beside the roof, pulses that would have met a roof there are missing: they count as open, unless something hides
// the place.
func runningSums(fine, coarse *raster, lab []label, ratio int) []int32 {
	w := fine.cols + 1
	sums := make([]int32, (fine.rows+1)*w)
	for row := 0; row < fine.rows; row++ {
		line := int32(0)
		for col := 0; col < fine.cols; col++ {
			k, c := row*fine.cols+col, row/ratio*coarse.cols+col/ratio
			line += pointWeight * (fine.out[k] - fine.in[k])
			if lab[c] == blank && coarse.hidden[c] == 0 {
				line++
			}
			sums[(row+1)*w+col+1] = sums[row*w+col+1] + line
		}
	}
	return sums
}

// cost is what moving an edge of the given way from one lattice line to another between two crossing lines adds to the number of
// misclassified points.
func (l *lattice) cost(way, from, to, start, end int) int {
	w := l.cols + 1
	block := func(r0, r1, c0, c1 int) int {
		clamp := func(i, n int) int { return min(max(i, 0), n) }
		r0, r1, c0, c1 = clamp(r0, l.rows), clamp(r1, l.rows), clamp(c0, l.cols), clamp(c1, l.cols)
		return int(l.sums[r1*w+c1] - l.sums[r0*w+c1] - l.sums[r1*w+c0] + l.sums[r0*w+c0])
	}
	lo, hi, a, b := min(from, to), max(from, to), min(start, end), max(start, end)
	sign := 1 // outward adds
	if (to > from) == (way == 0 || way == 3) {
		sign = -1
	}
	if way&1 == 0 {
		return sign * block(lo, hi, a, b)
	}
	return sign * block(a, b, lo, hi)
}

// forward is the signed length of a step of the given way between two crossing lines.
func forward(way, start, end int) int {
	if way >= 2 {
		return start - end
	}
	return end - start
}

// A merger is the replacement of a jog and the two edges it joins by one edge.
type merger struct {
	rise, length, at int
	legal            bool
}

// merge finds the best line for the edges on both sides of edge j, which it would join into one. It is legal when they run the same
// way and no neighbour would be turned around.
func (l *lattice) merge(ring []step, j int) merger {
	n := len(ring)
	get := func(i int) step { return ring[(j+i+2*n)%n] }
	p, q := get(-1), get(1)
	if n <= 4 || p.way != q.way {
		return merger{}
	}
	best := merger{length: abs(p.at - q.at)}
	for at := min(p.at, q.at); at <= max(p.at, q.at); at++ {
		if !l.fits(get(-3), get(-2), p, at, true) || !l.fits(get(3), get(2), q, at, false) {
			continue
		}
		rise := l.cost(p.way, p.at, at, get(-2).at, ring[j].at) + l.cost(q.way, q.at, at, ring[j].at, get(2).at)
		if !best.legal || rise < best.rise {
			best.rise, best.at, best.legal = rise, at, true
		}
	}
	return best
}

// fits tells whether the edge beside one that is moved to a new line keeps its way. It may shrink to nothing only between two edges of
// one way, which a later merger then joins.
func (l *lattice) fits(far, beside, moved step, at int, before bool) bool {
	length := forward(beside.way, at, far.at)
	if before {
		length = forward(beside.way, far.at, at)
	}
	return length > 0 || length == 0 && far.way == moved.way
}

// collapse joins edges, the cheapest jog first, for as long as the misclassified points grow by no more than allowance a jog.
func (l *lattice) collapse(allowance int) {
	for r, ring := range l.rings {
		mergers := make([]merger, len(ring))
		for j := range ring {
			mergers[j] = l.merge(ring, j)
		}
		for {
			best := -1
			for j, m := range mergers {
				if m.legal && m.rise <= allowance*pointWeight && (best < 0 || m.rise < mergers[best].rise ||
					m.rise == mergers[best].rise && m.length < mergers[best].length) {
					best = j
				}
			}
			if best < 0 {
				break
			}
			ring, mergers = l.apply(ring, mergers, best)
		}
		l.rings[r] = ring
	}
}

// apply joins the neighbours of edge j and works out anew the mergers that this touches.
func (l *lattice) apply(ring []step, mergers []merger, j int) ([]step, []merger) {
	n := len(ring)
	turned := make([]step, 0, n)
	old := make([]merger, 0, n)
	for i := range n {
		k := (j - 1 + i + n) % n
		turned, old = append(turned, ring[k]), append(old, mergers[k])
	}
	turned[0].at = mergers[j].at
	turned, old = append(turned[:1], turned[3:]...), append(old[:1], old[3:]...)
	n = len(turned)
	for i := -4; i <= 4; i++ {
		k := ((i % n) + n) % n
		old[k] = l.merge(turned, k)
	}
	return turned, old
}

func abs(i int) int { return max(i, -i) }

// outline turns the lattice polygon of a fine raster into a model with one direction.
func (l *lattice) outline(g *raster, theta float64) *model {
	m := &model{theta: []float64{theta}}
	for _, ring := range l.rings {
		edges := make([]edge, len(ring))
		for i, s := range ring {
			quarter := (s.way + 3) & 3
			d := g.u0 + float64(s.at)*g.cell
			if s.way&1 == 0 {
				d = g.v0 + float64(s.at)*g.cell
			}
			if quarter >= 2 {
				d = -d
			}
			edges[i] = edge{quarter: quarter, offset: d}
		}
		m.rings = append(m.rings, edges)
	}
	return m
}

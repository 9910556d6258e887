package form

import (
	"cmp"
	"math"
	"slices"
)

// A line parts the plan: n·(x, y) = d, with the first side where n·(x, y) is
// smaller.
type line struct{ nx, ny, d float64 }

func (l line) side(x, y float64) int {
	if l.nx*x+l.ny*y < l.d {
		return 0
	}
	return 1
}

// A node is one of the tree: a leaf with the surface that most of its cells are
// on, or a cut.
type node struct {
	label int32
	cut   line
	sides [2]*node // nil of a leaf
	wrong int      // cells that are on another surface than the leaves say
	cuts  int      // below this node
}

// A grower grows the tree.
type grower struct {
	surfaces   []surface
	directions [][2]float64 // of sides of the outline, as unit normals
	least      int          // cells that a cut must put right
}

// Of the cuts along sides of the outline and those where planes intersect, the
// latter are preferred unless the former are clearly better; and a cut needs
// this much information, in nats a cell, to be tried.
const (
	preference = 0.93
	leastGain  = 1e-3
	mostDepth  = 24
	mostPairs  = 10 // surfaces of a node whose intersections are tried
)

// grow returns the tree over cells, which it reorders.
func (g *grower) grow(cells []cell, depth int) *node {
	counts := tally(cells, len(g.surfaces))
	n := &node{label: most(counts)}
	if n.label >= 0 {
		n.wrong = len(cells) - counts[n.label]
	}
	if n.wrong < g.least || depth == 0 {
		return n
	}
	cut, ok := g.choose(cells, counts)
	if !ok {
		return n
	}
	slices.SortStableFunc(cells, func(a, b cell) int { return cmp.Compare(cut.side(a.x, a.y), cut.side(b.x, b.y)) })
	split, _ := slices.BinarySearchFunc(cells, 1, func(c cell, side int) int { return cmp.Compare(cut.side(c.x, c.y), side) })
	if split == 0 || split == len(cells) {
		return n
	}
	first, second := g.grow(cells[:split], depth-1), g.grow(cells[split:], depth-1)
	wrong, cuts := first.wrong+second.wrong, first.cuts+second.cuts+1
	// Cost-complexity pruning: each cut must be worth its cells.
	if n.wrong <= wrong+g.least*cuts {
		return n
	}
	return &node{label: n.label, cut: cut, sides: [2]*node{first, second}, wrong: wrong, cuts: cuts}
}

func tally(cells []cell, labels int) []int {
	counts := make([]int, labels)
	for _, c := range cells {
		counts[c.label]++
	}
	return counts
}

// most returns the label with the largest count, −1 of none.
func most(counts []int) int32 {
	best := int32(-1)
	for k, n := range counts {
		if n > 0 && (best < 0 || n > counts[best]) {
			best = int32(k)
		}
	}
	return best
}

// choose returns the cut that tells most of which surface a cell is on; false
// where none tells anything.
func (g *grower) choose(cells []cell, counts []int) (line, bool) {
	meet, gainMeet := g.bestMeeting(cells, counts)
	step, gainStep := g.bestStep(cells, counts)
	switch {
	case max(gainMeet, gainStep) < leastGain*float64(len(cells)):
		return line{}, false
	case gainMeet >= preference*gainStep:
		return meet, true
	}
	return step, true
}

// entropy returns n times the entropy of the shares, in nats: what it takes to
// tell the label of every cell.
func entropy(counts []int) float64 {
	n, sum := 0, 0.0
	for _, c := range counts {
		if c > 0 {
			n += c
			sum -= float64(c) * math.Log(float64(c))
		}
	}
	if n > 0 {
		sum += float64(n) * math.Log(float64(n))
	}
	return sum
}

// bestMeeting tries the lines in which the node's planes intersect.
func (g *grower) bestMeeting(cells []cell, counts []int) (best line, gain float64) {
	var labels []int
	for k, n := range counts {
		if n > 0 {
			labels = append(labels, k)
		}
	}
	slices.SortStableFunc(labels, func(a, b int) int { return cmp.Compare(counts[b], counts[a]) })
	labels = labels[:min(len(labels), mostPairs)]
	before := entropy(counts)
	for i, a := range labels {
		for _, b := range labels[:i] {
			l, ok := g.meeting(a, b)
			if !ok {
				continue
			}
			first := make([]int, len(counts))
			for _, c := range cells {
				if l.side(c.x, c.y) == 0 {
					first[c.label]++
				}
			}
			if v := before - entropy(first) - entropy(rest(counts, first)); v > gain {
				best, gain = l, v
			}
		}
	}
	return best, gain
}

func rest(all, first []int) []int {
	out := make([]int, len(all))
	for k := range all {
		out[k] = all[k] - first[k]
	}
	return out
}

// meeting returns the line in which two planes intersect; false of planes so
// nearly parallel that it is not known, and of curved surfaces.
func (g *grower) meeting(a, b int) (line, bool) {
	p, q := &g.surfaces[a], &g.surfaces[b]
	if !p.flat() || !q.flat() {
		return line{}, false
	}
	gx, gy := p.plane.GX-q.plane.GX, p.plane.GY-q.plane.GY
	size := math.Hypot(gx, gy)
	if size < sameGradient {
		return line{}, false
	}
	c := p.plane.At(0, 0) - q.plane.At(0, 0)
	return line{gx / size, gy / size, -c / size}, true
}

// bestStep tries cuts along each direction of the outline, half way between
// cells that follow each other across it.
func (g *grower) bestStep(cells []cell, counts []int) (best line, gain float64) {
	before := entropy(counts)
	order := slices.Clone(cells)
	for _, n := range g.directions {
		at := func(c cell) float64 { return n[0]*c.x + n[1]*c.y }
		slices.SortStableFunc(order, func(a, b cell) int { return cmp.Compare(at(a), at(b)) })
		s := newSweep(counts)
		for k := range len(order) - 1 {
			s.move(order[k].label)
			lo, hi := at(order[k]), at(order[k+1])
			if hi == lo {
				continue
			}
			if v := before - s.after(); v > gain {
				best, gain = line{n[0], n[1], (lo + hi) / 2}, v
			}
		}
	}
	return best, gain
}

// A sweep keeps the entropy on both sides of a cut that moves over the cells.
type sweep struct {
	counts [2][]int
	sums   [2]float64 // of n·ln n
	n      [2]int
}

func newSweep(counts []int) *sweep {
	s := &sweep{counts: [2][]int{make([]int, len(counts)), slices.Clone(counts)}}
	for _, c := range counts {
		s.sums[1] += nLog(c)
		s.n[1] += c
	}
	return s
}

func nLog(n int) float64 {
	if n == 0 {
		return 0
	}
	return float64(n) * math.Log(float64(n))
}

// move takes a cell from the second side to the first.
func (s *sweep) move(label int32) {
	for side, by := range [2]int{1, -1} {
		c := &s.counts[side][label]
		s.sums[side] += nLog(*c+by) - nLog(*c)
		*c += by
		s.n[side] += by
	}
}

// after returns the entropy of both sides together.
func (s *sweep) after() float64 {
	return nLog(s.n[0]) - s.sums[0] + nLog(s.n[1]) - s.sums[1]
}

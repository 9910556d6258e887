package solid

import "slices"

// A node of the hierarchy: a leaf holds count bodies from first in the order,
// an inner node has its children at first and first+1.
type node struct {
	box          Box
	first, count int32
}

// leafSize is the largest number of bodies in a leaf: testing a box is about
// as dear as testing a body, so leaves are small.
const leafSize = 3

// build makes the hierarchy by splitting at the median of the longest axis.
// Depth is at most 1 + log₂ of the number of bodies, so Gather's stack cannot
// overflow.
func (w *World) build() {
	if len(w.Bodies) == 0 {
		return
	}
	w.order = make([]int32, len(w.Bodies))
	for i := range w.order {
		w.order[i] = int32(i)
	}
	w.nodes = make([]node, 1, 2*len(w.Bodies))
	w.split(0, 0, len(w.order))
}

func (w *World) split(at, from, to int) {
	box, middle := emptyBox(), emptyBox()
	for _, i := range w.order[from:to] {
		box = box.union(w.Bodies[i].Box)
		middle = middle.with(w.Bodies[i].Box.centre())
	}
	w.nodes[at].box = box
	if to-from <= leafSize {
		w.nodes[at].first, w.nodes[at].count = int32(from), int32(to-from)
		return
	}
	key := longest(middle)
	slices.SortStableFunc(w.order[from:to], func(a, b int32) int {
		ka, kb := key(w.Bodies[a].Box.centre()), key(w.Bodies[b].Box.centre())
		switch {
		case ka < kb:
			return -1
		case ka > kb:
			return 1
		}
		return int(a - b)
	})
	half := (from + to) / 2
	first := len(w.nodes)
	w.nodes = append(w.nodes, node{}, node{})
	w.nodes[at].first, w.nodes[at].count = int32(first), 0
	w.split(first, from, half)
	w.split(first+1, half, to)
}

// longest returns the coordinate along which the box is longest.
func longest(b Box) func(Vec) float64 {
	d := b.Max.Sub(b.Min)
	switch {
	case d.X >= d.Y && d.X >= d.Z:
		return func(v Vec) float64 { return v.X }
	case d.Y >= d.Z:
		return func(v Vec) float64 { return v.Y }
	}
	return func(v Vec) float64 { return v.Z }
}

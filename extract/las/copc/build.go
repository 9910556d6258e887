package copc

import (
	"context"
	"slices"

	"quoin/extract/las/laz"
)

const (
	// leafPoints is the most points of a node that need no children: the
	// customary size of a chunk.
	leafPoints = laz.DefaultChunkSize
	// fewPoints is how many points a child must have to be worth a chunk, whose
	// models begin anew; fewer stay with the parent.
	fewPoints = 1000
	// deepest is the deepest level that is built. Points closer than its cells
	// are copies of one another.
	deepest = depth - gridBits - 1
	// cellWords is the length of a set of sampling cells.
	cellWords = 1 << (3*gridBits - 6)
)

// cells is a set of sampling cells of a node.
type cells []uint64

// take adds a cell, and reports whether it was new.
func (c cells) take(n uint32) bool {
	w, bit := &c[n>>6], uint64(1)<<(n&63)
	fresh := *w&bit == 0
	*w |= bit
	return fresh
}

// A builder builds the octree, and hands nodes on as they are complete.
type builder struct {
	ctx  context.Context // of the one call of Close
	out  *laz.Writer
	cube cube
	size int
	// memory is how many points may be in memory.
	memory int
	keys   []Key // of nodes handed on, in order

	records []byte // of the part of the tree in memory
	spots   []spot
	taken   cells
	codes   []uint8
	scratch []int32
	node    []byte
}

// stay is the code of a point that stays in a node; others are octants.
const stay = 8

// put hands on a node.
func (b *builder) put(k Key, records []byte) error {
	if len(records) == 0 {
		return nil
	}
	if err := b.ctx.Err(); err != nil {
		return err
	}
	b.keys = append(b.keys, k)
	if err := b.out.Write(records); err != nil {
		return err
	}
	return b.out.EndChunk()
}

// putOf hands on a node with the given points of those in memory.
func (b *builder) putOf(k Key, points []int32) error {
	b.node = b.node[:0]
	for _, i := range points {
		b.node = append(b.node, b.records[int(i)*b.size:][:b.size]...)
	}
	return b.put(k, b.node)
}

// plant builds the tree below k of the points in memory.
func (b *builder) plant(k Key) error {
	n := len(b.spots)
	if b.taken == nil {
		b.taken = make(cells, cellWords)
	}
	if cap(b.scratch) < n {
		b.scratch, b.codes = make([]int32, n), make([]uint8, n)
	}
	points := make([]int32, n)
	for i := range points {
		points[i] = int32(i)
	}
	return b.grow(k, points)
}

// grow builds the tree below k of some points, which it brings in order of
// nodes.
func (b *builder) grow(k Key, points []int32) error {
	if len(points) <= leafPoints || k.Level >= deepest {
		return b.putOf(k, points)
	}
	counts := b.sort(k.Level, points)
	kept := counts[stay]
	if err := b.putOf(k, points[:kept]); err != nil {
		return err
	}
	rest := points[kept:]
	for octant, n := range counts[:stay] {
		if n > 0 {
			if err := b.grow(k.child(octant), rest[:n]); err != nil {
				return err
			}
		}
		rest = rest[n:]
	}
	return nil
}

// sort brings the points that stay in a node to the front and those of each
// octant behind them, and returns how many each are. Otherwise it keeps their
// order.
func (b *builder) sort(level int32, points []int32) (counts [stay + 1]int) {
	clear(b.taken)
	codes := b.codes[:len(points)]
	for i, p := range points {
		s := b.spots[p]
		codes[i] = stay
		if !b.taken.take(s.cell(level)) {
			codes[i] = uint8(s.octant(level))
		}
		counts[codes[i]]++
	}
	// Children that are too small stay.
	var to [stay + 1]uint8
	to[stay] = stay
	for octant, n := range counts[:stay] {
		to[octant] = uint8(octant)
		if n < fewPoints {
			to[octant] = stay
			counts[stay] += n
			counts[octant] = 0
		}
	}
	var next [stay + 1]int
	at := counts[stay]
	for octant, n := range counts[:stay] {
		next[octant] = at
		at += n
	}
	for i, p := range points {
		c := to[codes[i]]
		b.scratch[next[c]] = p
		next[c]++
	}
	copy(points, b.scratch[:len(points)])
	return counts
}

// build builds the tree of all points.
func (b *builder) build(s *spill) error {
	if s.file == nil {
		b.records = s.buf
		b.spots = make([]spot, len(s.buf)/b.size)
		for i := range b.spots {
			b.spots[i] = b.cube.spot(s.buf[i*b.size:])
		}
		return b.plant(Key{})
	}
	return b.divide(s, Key{}, nil)
}

// divide builds the tree below base, all of whose points s has, part by part.
// The nodes above it are given from the root down.
func (b *builder) divide(s *spill, base Key, above []*upperNode) error {
	p, err := b.survey(s, base)
	if err != nil {
		return err
	}
	parts, err := b.distribute(s, p)
	if err != nil {
		return err
	}
	defer parts.remove()
	upper := map[Key]*upperNode{}
	for _, k := range p.upper {
		upper[k] = &upperNode{taken: make(cells, cellWords)}
	}
	for i, part := range p.parts {
		chain := slices.Clip(above)
		for level := base.Level; level < part.Level; level++ {
			chain = append(chain, upper[part.up(level)])
		}
		if err := b.part(parts.section(p.starts[i], p.starts[i+1]), part, chain); err != nil {
			return err
		}
	}
	for _, k := range p.upper {
		if err := b.put(k, upper[k].records); err != nil {
			return err
		}
	}
	return nil
}

// part builds a part of the tree. Each of its points first has its chance in
// the nodes above, from the root down.
func (b *builder) part(s *spill, k Key, above []*upperNode) error {
	if err := b.ctx.Err(); err != nil {
		return err
	}
	// The survey may have been too coarse, as it is where a stray point makes
	// the root's cube a thousand times as wide as the cloud.
	if (s.end-s.start)/int64(b.size) > int64(b.memory) && k.Level+surveyLevels <= deepest {
		return b.divide(s, k, above)
	}
	var err error
	if b.records, err = s.read(b.records, s.start, s.end); err != nil {
		return err
	}
	b.sift(above)
	if len(b.spots) < fewPoints && len(above) > 0 {
		last := above[len(above)-1]
		last.records = append(last.records, b.records...)
		return nil
	}
	return b.plant(k)
}

// An upperNode is a node above the parts of the tree that fit into memory.
type upperNode struct {
	taken   cells
	records []byte
}

// sift gives the points in memory to the nodes above, as far as they take them,
// and keeps the others, with their places.
func (b *builder) sift(chain []*upperNode) {
	b.spots = b.spots[:0]
	kept := b.records[:0]
	for rest := b.records; len(rest) > 0; rest = rest[b.size:] {
		s := b.cube.spot(rest)
		taken := false
		for level, u := range chain {
			if u.taken.take(s.cell(int32(level))) {
				u.records = append(u.records, rest[:b.size]...)
				taken = true
				break
			}
		}
		if !taken {
			kept = append(kept, rest[:b.size]...)
			b.spots = append(b.spots, s)
		}
	}
	b.records = kept
}

// stats returns what was built.
func (b *builder) stats() Stats {
	s := Stats{Nodes: len(b.keys)}
	for _, k := range b.keys {
		s.Levels = max(s.Levels, int(k.Level)+1)
	}
	for _, x := range b.out.Chunks() {
		s.Points += x.Points
	}
	return s
}

package copc

import (
	"encoding/binary"
	"fmt"
	"math"
	"slices"
	"sync"

	"quoin/extract/las/laz"
)

const (
	entrySize = 32
	// maxLevel is the deepest level whose places fit in a key.
	maxLevel = 31
	// elsewhere is the point count of a key whose entry is in another page.
	elsewhere = -1
)

// Key is the place of a node in the octree: at each level there are 2^Level
// cubes a side.
type Key struct {
	Level, X, Y, Z int32
}

func (k Key) valid() bool {
	if k.Level < 0 || k.Level > maxLevel {
		return false
	}
	n := int64(1) << k.Level
	in := func(v int32) bool { return v >= 0 && int64(v) < n }
	return in(k.X) && in(k.Y) && in(k.Z)
}

// compare orders keys by level, then place.
func (k Key) compare(o Key) int {
	for _, d := range [...][2]int32{{k.Level, o.Level}, {k.X, o.X}, {k.Y, o.Y}, {k.Z, o.Z}} {
		if d[0] != d[1] {
			return int(int64(d[0]) - int64(d[1]))
		}
	}
	return 0
}

// up returns the ancestor at a level.
func (k Key) up(level int32) Key {
	s := k.Level - level
	return Key{level, k.X >> s, k.Y >> s, k.Z >> s}
}

// Node is a node that has points.
type Node struct {
	Key Key
	// Points is how many it has, Offset and Size the place of its chunk.
	Points       int
	Offset, Size int64
}

// entry is an entry of a page.
type entry struct {
	key    Key
	offset uint64
	size   int32
	points int32
}

func (e entry) append(b []byte) []byte {
	le := binary.LittleEndian
	for _, v := range [...]int32{e.key.Level, e.key.X, e.key.Y, e.key.Z} {
		b = le.AppendUint32(b, uint32(v))
	}
	b = le.AppendUint64(b, e.offset)
	b = le.AppendUint32(b, uint32(e.size))
	return le.AppendUint32(b, uint32(e.points))
}

func parseEntry(b []byte) entry {
	le := binary.LittleEndian
	i := func(at int) int32 { return int32(le.Uint32(b[at:])) }
	return entry{Key{i(0), i(4), i(8), i(12)}, le.Uint64(b[16:]), i(24), i(28)}
}

// A place is where a page stands.
type place struct {
	offset uint64
	size   uint64
}

// hierarchy holds the pages read so far.
type hierarchy struct {
	mu      sync.Mutex
	pages   map[place][]entry
	entries int64
}

// page returns the entries of a page, checked.
func (r *Reader) page(p place) ([]entry, error) {
	h := &r.hierarchy
	h.mu.Lock()
	defer h.mu.Unlock()
	if list, ok := h.pages[p]; ok {
		return list, nil
	}
	if p.size == 0 || p.size%entrySize != 0 || p.offset > uint64(r.size) || p.size > uint64(r.size)-p.offset {
		return nil, fmt.Errorf("a page has %d bytes at %d in a file of %d", p.size, p.offset, r.size)
	}
	// Pages don't overlap, so that they all fit into the file.
	h.entries += int64(p.size / entrySize)
	if h.entries > r.size/entrySize {
		return nil, fmt.Errorf("its pages have more entries than the file can have")
	}
	b := make([]byte, p.size)
	if _, err := r.file.ReadAt(b, int64(p.offset)); err != nil {
		return nil, err
	}
	list := make([]entry, 0, len(b)/entrySize)
	for ; len(b) > 0; b = b[entrySize:] {
		e := parseEntry(b)
		if err := r.checkEntry(e); err != nil {
			return nil, err
		}
		list = append(list, e)
	}
	if h.pages == nil {
		h.pages = map[place][]entry{}
	}
	h.pages[p] = list
	return list, nil
}

func (r *Reader) checkEntry(e entry) error {
	first := uint64(r.head.start) + pointsAt
	switch {
	case !e.key.valid():
		return fmt.Errorf("there is no place %v in an octree", e.key)
	case e.points < elsewhere, e.size < 0, e.points != 0 && e.size == 0:
		return fmt.Errorf("node %v has %d points in %d bytes", e.key, e.points, e.size)
	case e.points > 0 && (e.offset < first || e.offset > uint64(r.size) || uint64(e.size) > uint64(r.size)-e.offset):
		return fmt.Errorf("node %v has %d bytes at %d in a file of %d", e.key, e.size, e.offset, r.size)
	}
	return nil
}

// nodes returns the nodes that pass, in the order of their chunks. Of a key
// that doesn't pass no page is read.
func (r *Reader) nodes(pass func(Key) bool) ([]Node, error) {
	todo := []place{{r.head.info.rootAt, r.head.info.rootSize}}
	seen := map[place]bool{todo[0]: true}
	var list []Node
	keys := map[Key]bool{}
	for len(todo) > 0 {
		page, err := r.page(todo[0])
		if err != nil {
			return nil, err
		}
		todo = todo[1:]
		for _, e := range page {
			switch {
			case !pass(e.key):
			case e.points == elsewhere:
				p := place{e.offset, uint64(e.size)}
				if seen[p] {
					return nil, fmt.Errorf("the page at %d is linked to twice", e.offset)
				}
				seen[p] = true
				todo = append(todo, p)
			case e.points > 0:
				if keys[e.key] {
					return nil, fmt.Errorf("node %v is there twice", e.key)
				}
				keys[e.key] = true
				list = append(list, Node{e.key, int(e.points), int64(e.offset), int64(e.size)})
			}
		}
	}
	slices.SortFunc(list, func(a, b Node) int { return int(min(max(a.Offset-b.Offset, -1), 1)) })
	for i := 1; i < len(list); i++ {
		if a := list[i-1]; a.Offset+a.Size > list[i].Offset {
			return nil, fmt.Errorf("nodes %v and %v overlap", a.Key, list[i].Key)
		}
	}
	return list, nil
}

// Box is a box along the axes of the file's CRS. Points on its faces are in it.
type Box struct {
	Min, Max [3]float64
}

// Everywhere returns the box that has all points.
func Everywhere() Box {
	inf := math.Inf(1)
	return Box{[3]float64{-inf, -inf, -inf}, [3]float64{inf, inf, inf}}
}

// meets reports whether boxes have a point in common.
func (b Box) meets(o Box) bool {
	for i := range 3 {
		if !(b.Min[i] <= o.Max[i] && o.Min[i] <= b.Max[i]) {
			return false
		}
	}
	return true
}

// Cube returns the cube of a node.
func (i Info) Cube(k Key) Box {
	side := math.Ldexp(2*i.HalfSize, -int(k.Level))
	var b Box
	for a, v := range [...]int32{k.X, k.Y, k.Z} {
		b.Min[a] = i.Center[a] - i.HalfSize + float64(v)*side
		b.Max[a] = b.Min[a] + side
	}
	return b
}

// Level returns the least level at which points are at most spacing apart. It
// is the deepest one for a spacing that is not above 0.
func (i Info) Level(spacing float64) int32 {
	level := int32(0)
	for s := i.Spacing; level < maxLevel && !(s <= spacing); s /= 2 {
		level++
	}
	return level
}

// extents returns the places of nodes.
func extents(nodes []Node) []laz.Extent {
	list := make([]laz.Extent, len(nodes))
	for i, n := range nodes {
		list[i] = laz.Extent{Points: uint64(n.Points), Offset: n.Offset, Size: n.Size}
	}
	return list
}

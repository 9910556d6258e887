package copc

import (
	"context"
	"encoding/binary"
	"fmt"
	"io"
	"iter"
	"math"

	"quoin/extract/las/laz"
)

// Reader reads a COPC file. Its methods may be called by several goroutines
// at once. Pages of the hierarchy are kept once they are read.
type Reader struct {
	file      io.ReaderAt
	size      int64
	head      head
	hierarchy hierarchy
}

// NewReader returns a reader of a COPC file of size bytes. It reads no more
// than the header; the hierarchy is read as far as queries need it.
func NewReader(file io.ReaderAt, size int64) (*Reader, error) {
	h, err := parseHead(file, size)
	if err != nil {
		return nil, fmt.Errorf("copc: read header: %w", err)
	}
	return &Reader{file: file, size: size, head: h}, nil
}

// Info returns the octree's dimensions.
func (r *Reader) Info() Info { return r.head.info }

// Count returns the number of points in the file.
func (r *Reader) Count() uint64 { return r.head.points }

// Record returns what the points are compressed as; it has their format and
// the length of a record.
func (r *Reader) Record() laz.Record { return r.head.record }

// Scale and Offset make coordinates of the integers in point records:
// coordinate = integer · scale + offset.
func (r *Reader) Scale() [3]float64 { return r.head.scale }

// Offset is described with Scale.
func (r *Reader) Offset() [3]float64 { return r.head.offset }

// Query says which points are to be read.
type Query struct {
	// Box is the window; points outside are left out. Everywhere has all.
	Box Box
	// Spacing is the distance of points that is enough, in units of the CRS:
	// levels with points closer than that are not read. 0 reads all.
	Spacing float64
	// Options are those of package laz. Heights are decoded where the box
	// needs them, asked for or not.
	Options laz.ReaderOptions
}

// Nodes returns the nodes that have the points of a query, in the order of
// their chunks in the file, and further points outside its box. No page of the
// hierarchy is read that can't have any of them.
func (r *Reader) Nodes(q Query) ([]Node, error) {
	deepest := r.head.info.Level(q.Spacing)
	// A point may lie outside its node's cube by what coordinates are rounded.
	box := q.Box
	for i, s := range r.head.scale {
		box.Min[i] -= max(s, -s)
		box.Max[i] += max(s, -s)
	}
	nodes, err := r.nodes(func(k Key) bool { return k.Level <= deepest && r.head.info.Cube(k).meets(box) })
	if err != nil {
		return nil, fmt.Errorf("copc: read hierarchy: %w", err)
	}
	return nodes, nil
}

// Part is the points of one node that are in a query's box.
type Part struct {
	Node Node
	// Records are the point records, back to back. They are good until the
	// next step of the iteration only.
	Records []byte
}

// Read returns the points of a query, node by node in the order of the file. The
// first error ends the iteration. It may be iterated over more than once, and
// ended at any time. Only the chunks of Nodes are read.
func (r *Reader) Read(ctx context.Context, q Query) iter.Seq2[Part, error] {
	return func(yield func(Part, error) bool) {
		nodes, err := r.Nodes(q)
		if err != nil {
			yield(Part{}, err)
			return
		}
		if q.bounded(2) {
			q.Options.Layers |= laz.LayerZ
		}
		chunks, err := laz.NewChunkReader(r.file, r.size, r.head.record, extents(nodes), q.Options)
		if err != nil {
			yield(Part{}, fmt.Errorf("copc: %w", err))
			return
		}
		for c, err := range chunks.All(ctx) {
			if err != nil {
				yield(Part{}, fmt.Errorf("copc: %w", err))
				return
			}
			p := Part{Node: nodes[c.Index], Records: c.Records}
			if q.Box != Everywhere() {
				p.Records = r.clip(p.Records, q.Box)
			}
			if len(p.Records) > 0 && !yield(p, nil) {
				return
			}
		}
	}
}

// bounded reports whether the box leaves out anything along an axis.
func (q Query) bounded(axis int) bool {
	return !math.IsInf(q.Box.Min[axis], -1) || !math.IsInf(q.Box.Max[axis], 1)
}

// clip drops the records outside a box, in place.
func (r *Reader) clip(records []byte, box Box) []byte {
	size := r.head.record.RecordLength()
	kept := records[:0]
	for rest := records; len(rest) >= size; rest = rest[size:] {
		in := true
		for i := range 3 {
			v := coordinate(rest, i, r.head.scale, r.head.offset)
			in = in && box.Min[i] <= v && v <= box.Max[i]
		}
		if in {
			kept = append(kept, rest[:size]...)
		}
	}
	return kept
}

// coordinate returns a coordinate of a record.
func coordinate(rec []byte, axis int, scale, offset [3]float64) float64 {
	// The product is rounded before the sum, on all machines.
	product := float64(int32(binary.LittleEndian.Uint32(rec[4*axis:]))) * scale[axis]
	return float64(product) + offset[axis]
}

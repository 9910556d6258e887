package las

import (
	"context"
	"errors"
	"fmt"
	"io"
	"iter"
	"math"
	"os"
	"slices"
	"time"

	"github.com/paulmach/orb"

	"quoin/extract/cloud"
	"quoin/extract/las/laz"
)

// chunkPoints is the number of points read and decoded at a time: half a
// megabyte of records, which stays in a core's second-level cache.
const chunkPoints = 1 << 14

// A File is a LAS or LAZ file whose header has been read and found sound.
//
// It holds no open file: each pass opens it again, so any number of Files can
// be kept, and concurrent passes are safe.
type File struct {
	path     string
	header   Header
	points   int64
	packed   *laz.Record // nil for LAS
	columns  Columns
	workers  int
	warnings []string
	input    input
}

var _ cloud.Source = (*File)(nil)

// Open reads the header of a LAS or LAZ file; which of the two it is follows
// from its content. What cannot be right is a *FormatError: a wrong signature,
// a header, a record or points that reach beyond the file, a scale that is
// not above 0. What is odd but readable is told by Warnings.
func Open(path string) (*File, error) {
	info, err := os.Stat(path)
	if err != nil {
		return nil, fmt.Errorf("las: open: %w", err)
	}
	if !info.Mode().IsRegular() {
		return nil, &FormatError{Path: path, What: "this is no regular file", Mend: "give a .las or .laz file"}
	}
	return open(path, input{path: path, size: info.Size(), changed: info.ModTime()})
}

// NewFile is Open for bytes that are already at hand; name stands in errors.
func NewFile(name string, r io.ReaderAt, size int64) (*File, error) {
	return open(name, input{memory: r, size: size})
}

func open(path string, in input) (*File, error) {
	r, done, err := in.open()
	if err != nil {
		return nil, fmt.Errorf("las: open: %w", err)
	}
	defer done()
	p := parser{path: path, r: r, size: in.size}
	if err := p.parse(); err != nil {
		return nil, err
	}
	f := &File{path: path, points: p.points, columns: AllColumns, workers: 1, input: in}
	if f.packed, err = p.unpack(); err != nil {
		return nil, err
	}
	if f.packed == nil {
		err = p.checkCount()
	} else {
		err = p.checkChunks(f.packed)
	}
	if err != nil {
		return nil, err
	}
	f.header, f.warnings = p.header, p.warnings
	return f, nil
}

// An input is where the bytes come from: a file that is opened for each pass,
// or memory.
type input struct {
	path    string
	size    int64
	changed time.Time
	memory  io.ReaderAt
}

var errChanged = errors.New("the file has changed since it was opened")

func (in input) open() (io.ReaderAt, func(), error) {
	if in.memory != nil {
		return in.memory, func() {}, nil
	}
	file, err := os.Open(in.path)
	if err != nil {
		return nil, nil, err
	}
	info, err := file.Stat()
	if err == nil && (info.Size() != in.size || !info.ModTime().Equal(in.changed)) {
		err = fmt.Errorf("%s: %w", in.path, errChanged)
	}
	if err != nil {
		_ = file.Close()
		return nil, nil, err
	}
	return file, func() { _ = file.Close() }, nil
}

// Header returns the header with its records. The caller may change it, but
// not the bytes of the records.
func (f *File) Header() Header {
	h := f.header
	h.VLRs, h.EVLRs = slices.Clone(h.VLRs), slices.Clone(h.EVLRs)
	return h
}

// Warnings returns what is odd in the header, one sentence without the
// path each.
func (f *File) Warnings() []string { return slices.Clone(f.warnings) }

// Compressed reports whether the points are compressed: LAZ.
func (f *File) Compressed() bool { return f.packed != nil }

// Info returns what the header says.
func (f *File) Info() cloud.Info {
	h := &f.header
	layout, _ := LayoutOf(h.Format)
	return cloud.Info{
		Path: f.path, Count: h.Count, CRS: h.CRS, Resolution: h.Scale, Created: h.Created,
		Bounds: orb.Bound{Min: orb.Point{h.Min[0], h.Min[1]}, Max: orb.Point{h.Max[0], h.Max[1]}},
		MinZ:   h.Min[2], MaxZ: h.Max[2],
		HasTime: layout.Time != absent, HasColour: layout.Colour != absent,
	}
}

// Only returns the file with the given columns: the others are nil in its
// batches, and their layers are not decompressed where the compression
// allows it. Coordinates, return numbers and the scanner channel always come.
func (f *File) Only(c Columns) *File {
	g := *f
	g.columns = c
	return &g
}

// Workers returns the file with the number of goroutines that decompress it,
// at least 1, which is what Open gives. The order of points does not depend on
// it; LAS needs none.
func (f *File) Workers(n int) *File {
	g := *f
	g.workers = max(n, 1)
	return &g
}

// Batches streams the points by column, in file order. Batch and columns are
// reused: a consumer copies what it keeps. The first error ends the stream.
// It may be called again, and concurrently.
func (f *File) Batches(ctx context.Context) iter.Seq2[*cloud.Batch, error] {
	return func(yield func(*cloud.Batch, error) bool) {
		d := newDecoder(&f.header, f.columns)
		for records, err := range f.records(ctx, f.columns) {
			if err != nil {
				yield(nil, err)
				return
			}
			for len(records) > 0 {
				n := min(len(records), chunkPoints*d.length)
				if !yield(d.decode(records[:n]), nil) {
					return
				}
				records = records[n:]
			}
		}
	}
}

// Records streams the points as raw records of the header's format and
// length, in runs of whole records whose bytes are reused. The first error
// ends the stream. It may be called again, and concurrently.
func (f *File) Records(ctx context.Context) iter.Seq2[[]byte, error] {
	return f.records(ctx, rawRecords)
}

func (f *File) records(ctx context.Context, c Columns) iter.Seq2[[]byte, error] {
	return func(yield func([]byte, error) bool) {
		r, done, err := f.input.open()
		if err != nil {
			yield(nil, fmt.Errorf("las: read: %w", err))
			return
		}
		defer done()
		if f.packed != nil {
			f.unpacked(ctx, r, c, yield)
			return
		}
		f.stored(ctx, r, yield)
	}
}

// Actual reads all points and returns the header with counts and box as they
// really are, and what the file's header says differently, one sentence each.
// Boxes that differ by less than a step of the scale count as the same.
func (f *File) Actual(ctx context.Context) (actual Header, differences []string, err error) {
	layout, _ := LayoutOf(f.header.Format)
	t := newTally(layout, f.header.RecordLength())
	for records, err := range f.records(ctx, 0) {
		if err != nil {
			return actual, nil, err
		}
		t.add(records)
	}
	actual = f.Header()
	t.into(&actual)
	return actual, f.header.differences(&actual), nil
}

func (h *Header) differences(actual *Header) []string {
	var all []string
	if h.Count != actual.Count {
		all = append(all, fmt.Sprintf("the header says %d points, there are %d", h.Count, actual.Count))
	}
	kept := newReturns
	if h.Version < 4 {
		kept = oldReturns
	}
	if !slices.Equal(h.Returns[:kept], actual.Returns[:kept]) {
		all = append(all, "the header's numbers of points by return are not those of the points")
	}
	for axis := range 3 {
		if !h.sameBox(actual, axis) {
			all = append(all, fmt.Sprintf("the header's box runs from %.9g to %.9g in %c, the points from %.9g to %.9g",
				h.Min[axis], h.Max[axis], "xyz"[axis], actual.Min[axis], actual.Max[axis]))
		}
	}
	return all
}

func (h *Header) sameBox(actual *Header, axis int) bool {
	step := h.Scale[axis]
	return math.Abs(h.Min[axis]-actual.Min[axis]) < step && math.Abs(h.Max[axis]-actual.Max[axis]) < step
}

// stored streams the records of an uncompressed file.
func (f *File) stored(ctx context.Context, r io.ReaderAt, yield func([]byte, error) bool) {
	length := f.header.RecordLength()
	left, at := f.header.Count, f.points
	buffer := make([]byte, min(left, chunkPoints)*uint64(length))
	for left > 0 {
		if err := ctx.Err(); err != nil {
			yield(nil, fmt.Errorf("las: read %s: %w", f.path, err))
			return
		}
		n := min(left, chunkPoints)
		run := buffer[:n*uint64(length)]
		if _, err := r.ReadAt(run, at); err != nil {
			yield(nil, fmt.Errorf("las: read %s: point %d: %w", f.path, f.header.Count-left, err))
			return
		}
		if !yield(run, nil) {
			return
		}
		left, at = left-n, at+int64(len(run))
	}
}

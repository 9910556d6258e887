package laz

import (
	"context"
	"errors"
	"fmt"
	"io"
	"iter"
	"math"
	"runtime"
	"slices"
	"sync"
)

// ReaderOptions govern a Reader.
type ReaderOptions struct {
	// Workers is the number of chunks that All decodes at the same time, at
	// least 1. With 1 it starts no goroutines.
	Workers int
	// Layers are the fields to be decoded of layered formats.
	Layers Layers
}

// DefaultReaderOptions returns options to decode everything on all cores.
func DefaultReaderOptions() ReaderOptions {
	return ReaderOptions{Workers: runtime.GOMAXPROCS(0), Layers: AllLayers}
}

// Reader reads the points of a LAZ file. All its methods may be called by
// several goroutines at once.
type Reader struct {
	file    io.ReaderAt
	size    int64
	start   int64
	count   uint64
	rec     Record
	plan    plan
	options ReaderOptions
	// end is where chunks end at the latest: at the table, if it is known.
	end    int64
	damage error

	mu    sync.Mutex
	list  []Extent
	whole bool  // list has all chunks that there are
	fault error // why list has not all points
	spare []*Decoder
}

// Chunk is a run of points in the order of the file.
type Chunk struct {
	// Index is the number of the chunk.
	Index int
	// First is the number of points before these.
	First uint64
	// Records are the point records, back to back. They are good until the
	// next step of the iteration only.
	Records []byte
}

// NewReader returns a reader of the compressed points in a file of size bytes,
// of which start is the offset to point data and count the number of points,
// both from the header.
//
// If the chunk table is missing or damaged, chunks are found without it where
// that can be done, which Damage tells. An error is returned where no point
// could be read.
func NewReader(file io.ReaderAt, size, start int64, count uint64, rec Record, o ReaderOptions) (*Reader, error) {
	p, err := rec.plan()
	if err != nil {
		return nil, err
	}
	switch {
	case rec.Compressor == Stored:
		return nil, errors.New("laz: the points are not compressed")
	case o.Workers < 1:
		return nil, fmt.Errorf("laz: %d workers can't read", o.Workers)
	case rec.ChunkSize == 0:
		return nil, errors.New("laz: chunks can't have no points")
	}
	r := &Reader{file: file, size: size, start: start, count: count, rec: rec, plan: p, options: o, end: size}
	if count == 0 {
		r.whole = true
		return r, nil
	}
	least := r.firstChunk() + p.leastChunk()
	if start < 0 || least > size || least < start {
		return nil, fmt.Errorf("laz: %d points can't begin at byte %d of a file of %d bytes", count, start, size)
	}
	if rec.Compressor == Pointwise {
		r.list, r.whole = []Extent{{Points: count, Offset: start, Size: size - start}}, true
		return r, nil
	}
	return r, r.locate()
}

// NewChunkReader returns a reader of chunks whose places are known from
// elsewhere, as in a container with an index of its own, in the order given.
// First is set to what it must be.
func NewChunkReader(file io.ReaderAt, size int64, rec Record, chunks []Extent, o ReaderOptions) (*Reader, error) {
	r, err := NewReader(file, size, 0, 0, rec, o)
	if err != nil {
		return nil, err
	}
	r.list = slices.Clone(chunks)
	for i := range r.list {
		x := &r.list[i]
		x.First = r.count
		if x.Offset < 0 || x.Size < r.plan.leastChunk() || x.Size > size-x.Offset || x.Points < 1 || x.Points >= VariableChunks {
			return nil, r.at(i, x.First, fmt.Errorf("%w: %d points in %d bytes at %d of a file of %d",
				ErrCorrupt, x.Points, x.Size, x.Offset, size))
		}
		r.count += x.Points
	}
	return r, nil
}

// firstChunk returns where the first chunk begins.
func (r *Reader) firstChunk() int64 {
	if r.rec.Compressor == Pointwise {
		return r.start
	}
	return r.start + positionSize
}

// locate finds the chunks by the table, or else without it.
func (r *Reader) locate() error {
	position, err := r.find()
	if err == nil {
		if r.list, err = r.readTable(position); err == nil {
			r.whole, r.end = true, position
			return nil
		}
		// A table that is damaged still is where the chunks end.
		r.end = position
	}
	r.damage = fmt.Errorf("laz: the chunk table can't be used: %w", err)
	if !r.plan.layered {
		if r.rec.ChunkSize == VariableChunks {
			return fmt.Errorf("%w; chunks of varying size can't be found without it", r.damage)
		}
		return nil
	}
	r.walkHeads()
	if len(r.list) == 0 {
		return r.fault
	}
	return nil
}

// Count returns the number of points that the file should have.
func (r *Reader) Count() uint64 { return r.count }

// Record returns what the points are compressed as.
func (r *Reader) Record() Record { return r.rec }

// Damage returns why the chunk table couldn't be used, nil if it could, or if
// there need not be one. Points are found without it, but in pointwise formats
// not as fast: nothing tells where a chunk begins before the one ahead of it
// is decoded.
func (r *Reader) Damage() error { return r.damage }

// Chunks returns the number of chunks. In a damaged file there may be fewer
// to read.
func (r *Reader) Chunks() int {
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.whole {
		return len(r.list)
	}
	return int(min(ceil(r.count, uint64(r.rec.ChunkSize)), math.MaxInt))
}

// Chunk returns the place of chunk i.
//
// Where the chunk table is missing and the format pointwise, all chunks up to
// it must be decoded first.
func (r *Reader) Chunk(ctx context.Context, i int) (Extent, error) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if i >= 0 && i >= len(r.list) && !r.whole {
		r.walkTo(ctx, i)
	}
	switch {
	case i >= 0 && i < len(r.list):
		return r.list[i], nil
	case r.fault != nil:
		return Extent{}, r.fault
	case ctx.Err() != nil:
		return Extent{}, ctx.Err()
	}
	return Extent{}, fmt.Errorf("laz: there is no chunk %d of %d", i, len(r.list))
}

// Find returns the number of the chunk that has the given point, as far as
// chunks are known, and -1 else.
func (r *Reader) Find(point uint64) int {
	r.mu.Lock()
	defer r.mu.Unlock()
	i, ok := slices.BinarySearchFunc(r.list, point, func(e Extent, p uint64) int {
		switch {
		case p < e.First:
			return 1
		case p-e.First >= e.Points:
			return -1
		}
		return 0
	})
	if !ok {
		return -1
	}
	return i
}

// ReadChunk appends to dst the records of chunk i. If it fails, dst has the
// points before the one that failed. It takes memory for all points of the
// chunk, which are few in chunks of ordinary size; All can do with less.
func (r *Reader) ReadChunk(ctx context.Context, i int, dst []byte) ([]byte, error) {
	x, err := r.Chunk(ctx, i)
	if err != nil {
		return dst, err
	}
	d, err := r.decoder()
	if err != nil {
		return dst, err
	}
	defer r.release(d)
	before := len(dst)
	err = r.load(d, x)
	if err == nil {
		dst, err = d.decode(ctx, dst, int(x.Size), x.Points)
	}
	return dst, r.at(i, x.First+uint64((len(dst)-before)/r.plan.size), err)
}

// load reads the bytes of a chunk into the decoder's buffer.
func (r *Reader) load(d *Decoder, x Extent) error {
	return readFull(r.file, d.room(int(x.Size))[:x.Size], x.Offset)
}

// at says where err happened, if it did and is none of the context.
func (r *Reader) at(chunk int, point uint64, err error) error {
	if err == nil || errors.Is(err, context.Canceled) || errors.Is(err, context.DeadlineExceeded) {
		return err
	}
	return &ChunkError{Chunk: chunk, Point: point, Err: err}
}

// decoder returns a decoder that nobody else uses.
func (r *Reader) decoder() (*Decoder, error) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if n := len(r.spare); n > 0 {
		d := r.spare[n-1]
		r.spare = r.spare[:n-1]
		return d, nil
	}
	return NewDecoder(r.rec, r.options.Layers)
}

func (r *Reader) release(d *Decoder) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.spare = append(r.spare, d)
}

// All returns all points in the order of the file. They come in chunks, large
// chunks in several pieces. The first error ends the iteration; points before
// it have been returned. It may be iterated over more than once, and ended at
// any time.
//
// It keeps at most one chunk more than there are workers in memory. Chunks of
// more than 48 MiB of records, and those of files without a chunk table, are
// decoded one after the other.
func (r *Reader) All(ctx context.Context) iter.Seq2[Chunk, error] {
	return func(yield func(Chunk, error) bool) {
		if r.serial() {
			r.inTurn(ctx, yield)
			return
		}
		if r.options.Workers == 1 || len(r.list) == 1 {
			r.oneByOne(ctx, yield)
			return
		}
		r.parallel(ctx, yield)
	}
}

// wholeBytes is the most bytes of records of chunks that are decoded as a whole.
const wholeBytes = 48 << 20

// serial reports whether chunks are to be decoded piece by piece.
func (r *Reader) serial() bool {
	r.mu.Lock()
	defer r.mu.Unlock()
	most := uint64(wholeBytes / r.plan.size)
	return !r.whole || slices.ContainsFunc(r.list, func(x Extent) bool { return x.Points > most })
}

// oneByOne decodes chunk after chunk.
func (r *Reader) oneByOne(ctx context.Context, yield func(Chunk, error) bool) {
	var buf []byte
	for i, x := range r.list {
		if err := ctx.Err(); err != nil {
			yield(Chunk{}, err)
			return
		}
		var err error
		buf, err = r.ReadChunk(ctx, i, buf[:0])
		if !deliver(Chunk{i, x.First, buf}, err, yield) {
			return
		}
	}
	if r.fault != nil {
		yield(Chunk{}, r.fault)
	}
}

// deliver hands on a chunk and then the error that ended it. It reports whether
// to go on.
func deliver(c Chunk, err error, yield func(Chunk, error) bool) bool {
	if len(c.Records) > 0 && !yield(c, nil) {
		return false
	}
	if err != nil {
		yield(Chunk{}, err)
		return false
	}
	return true
}

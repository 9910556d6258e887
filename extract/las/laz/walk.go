package laz

import (
	"context"
	"errors"
	"fmt"
	"io"
	"slices"

	"quoin/extract/las/laz/internal/pointwise"
)

// walkHeads finds the chunks of a layered file by what each says of its length.
func (r *Reader) walkHeads() {
	r.whole = true
	format := r.plan.layeredFormat()
	head := make([]byte, format.Head())
	next := Extent{Offset: r.firstChunk()}
	for next.First < r.count {
		i := len(r.list)
		left := r.count - next.First
		if err := r.readHead(head, next.Offset); err != nil {
			r.fault = r.at(i, next.First, fmt.Errorf("%w: %w", ErrShort, err))
			return
		}
		points, size := format.Length(head)
		next.Points, next.Size = uint64(points), size
		want := next.Points
		if r.rec.ChunkSize != VariableChunks {
			want = min(left, uint64(r.rec.ChunkSize))
		}
		switch {
		case points == 0 || next.Points != want || next.Points > left:
			r.fault = r.at(i, next.First, fmt.Errorf("%w: it says it has %d points", ErrCorrupt, points))
			return
		case size < r.plan.leastChunk():
			r.fault = r.at(i, next.First, fmt.Errorf("%w: it says it has %d bytes", ErrCorrupt, size))
			return
		case size > r.end-next.Offset:
			r.fault = r.at(i, next.First, fmt.Errorf("%w: it has %d bytes of %d", ErrShort, r.end-next.Offset, size))
			return
		}
		r.list = append(r.list, next)
		next.First += next.Points
		next.Offset += next.Size
	}
}

// readHead reads the head of a chunk, which must end before the chunks do.
func (r *Reader) readHead(head []byte, offset int64) error {
	if int64(len(head)) > r.end-offset {
		return io.ErrUnexpectedEOF
	}
	return readFull(r.file, head, offset)
}

// walkTo decodes the chunks of a pointwise file, for the sake of where they
// end, until chunk i is known. The caller holds the lock.
func (r *Reader) walkTo(ctx context.Context, i int) {
	d, err := NewDecoder(r.rec, r.options.Layers)
	if err != nil {
		r.fault = err
		return
	}
	p := &pass{reader: r, decoder: d}
	for len(r.list) <= i && r.fault == nil {
		x := r.following()
		size, err := p.pieces(ctx, len(r.list), x, func(uint64, []byte) bool { return true })
		if err != nil {
			if ctx.Err() == nil {
				r.fault = err
			}
			return
		}
		r.note(x, size)
	}
}

// following returns the place of the chunk behind those that are known; its
// size is all that is left.
func (r *Reader) following() Extent {
	x := Extent{Offset: r.firstChunk()}
	if n := len(r.list); n > 0 {
		last := r.list[n-1]
		x.First, x.Offset = last.First+last.Points, last.Offset+last.Size
	}
	x.Points = min(r.count-x.First, uint64(r.rec.ChunkSize))
	x.Size = r.end - x.Offset
	return x
}

// note adds a chunk whose size has become known.
func (r *Reader) note(x Extent, size int64) {
	x.Size = size
	r.list = append(r.list, x)
	r.whole = x.First+x.Points == r.count
}

// inTurn decodes one chunk after the other, piece by piece.
func (r *Reader) inTurn(ctx context.Context, yield func(Chunk, error) bool) {
	d, err := r.decoder()
	if err != nil {
		yield(Chunk{}, err)
		return
	}
	defer r.release(d)
	p := &pass{reader: r, decoder: d}
	for i := 0; ; i++ {
		r.mu.Lock()
		known := i < len(r.list)
		var x Extent
		switch {
		case known:
			x = r.list[i]
		case !r.whole:
			x = r.following()
		}
		fault := r.fault
		r.mu.Unlock()
		if x.Points == 0 {
			if fault != nil {
				yield(Chunk{}, fault)
			}
			return
		}
		stopped := false
		size, err := p.pieces(ctx, i, x, func(first uint64, records []byte) bool {
			stopped = !yield(Chunk{i, first, records}, nil)
			return !stopped
		})
		if stopped {
			return
		}
		if err != nil {
			yield(Chunk{}, err)
			return
		}
		r.mu.Lock()
		if i == len(r.list) {
			r.note(x, size)
		}
		r.mu.Unlock()
	}
}

// errStopped ends a chunk whose points nobody wants any more.
var errStopped = errors.New("stopped")

// A pass goes through chunks piece by piece.
type pass struct {
	reader  *Reader
	decoder *Decoder
	part    []byte
}

// pieces decodes chunk x piece by piece, which use is given with the number of
// points before it until it returns false. It returns the size that the chunk
// turns out to have.
func (p *pass) pieces(ctx context.Context, index int, x Extent, use func(uint64, []byte) bool) (int64, error) {
	r, d := p.reader, p.decoder
	fail := func(point uint64, err error) (int64, error) { return 0, r.at(index, point, err) }
	w, err := r.open(d, x)
	if err != nil {
		return fail(x.First, err)
	}
	for done := uint64(0); done < x.Points; {
		if err := ctx.Err(); err != nil {
			return 0, err
		}
		n := int(r.plan.part(x.Points-done)) * r.plan.size
		p.part = slices.Grow(p.part[:0], n)[:n]
		got, err := d.next(p.part)
		if got > 0 && !use(x.First+done, p.part[:got*r.plan.size]) {
			return 0, errStopped
		}
		done += uint64(got)
		if err != nil {
			return fail(x.First+done, err)
		}
	}
	if w == nil {
		return x.Size, nil
	}
	return w.base + int64(d.pointwise.Pos()) - x.Offset, nil
}

// open begins to decode chunk x. Pointwise chunks are read through a window,
// which is returned.
func (r *Reader) open(d *Decoder, x Extent) (*window, error) {
	if d.layered != nil {
		if err := r.load(d, x); err != nil {
			return nil, err
		}
		return nil, d.start(int(x.Size), x.Points, nil)
	}
	w := &window{file: r.file, base: x.Offset, end: x.Offset + x.Size}
	buf, err := w.More(0, d.pointwise.Pad())
	if err != nil {
		return nil, err
	}
	return w, d.pointwise.Start(buf, len(buf)-d.pointwise.Pad(), w)
}

// windowSize is how many bytes of a pointwise chunk are in memory.
const windowSize = 1 << 18

// A window is the part of a file that is being decoded.
type window struct {
	file io.ReaderAt
	base int64 // of the buffer in the file
	end  int64 // of what may be read
	buf  []byte
	n    int // bytes in the buffer
}

var _ pointwise.Source = (*window)(nil)

// More moves the window on.
func (w *window) More(from, pad int) ([]byte, error) {
	if w.buf == nil {
		w.buf = make([]byte, min(windowSize, w.end-w.base)+int64(pad))
	}
	w.n = copy(w.buf, w.buf[from:w.n])
	w.base += int64(from)
	fresh := int(min(int64(len(w.buf)-pad-w.n), w.end-w.base-int64(w.n)))
	if err := readFull(w.file, w.buf[w.n:w.n+fresh], w.base+int64(w.n)); err != nil {
		return nil, err
	}
	w.n += fresh
	return w.buf[:w.n+pad], nil
}

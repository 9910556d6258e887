package laz

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"quoin/extract/las/laz/internal/arith"
	"quoin/extract/las/laz/internal/layered"
	"quoin/extract/las/laz/internal/pointwise"
)

var (
	// ErrShort is the cause of an error where compressed bytes end before the
	// points do.
	ErrShort = arith.ErrShort
	// ErrCorrupt is the cause of an error where compressed bytes can't be what
	// an encoder wrote.
	ErrCorrupt = arith.ErrCorrupt
)

// ChunkError says where reading or writing failed.
type ChunkError struct {
	Chunk int
	// Point is the number of points of the file before the one that failed.
	Point uint64
	Err   error
}

func (e *ChunkError) Error() string {
	return fmt.Sprintf("laz: chunk %d, point %d: %v", e.Chunk, e.Point, e.Err)
}

func (e *ChunkError) Unwrap() error { return e.Err }

// Decoder decodes chunks, one after the other. It must not be used by two
// goroutines at once.
type Decoder struct {
	plan      plan
	pointwise *pointwise.Decoder
	layered   *layered.Decoder
	buf       []byte
}

// NewDecoder returns a decoder of chunks of files with the record, and of
// layered ones the given layers.
func NewDecoder(rec Record, layers Layers) (*Decoder, error) {
	p, err := rec.plan()
	if err != nil {
		return nil, err
	}
	if rec.Compressor == Stored {
		return nil, errors.New("laz: the points are not compressed")
	}
	d := &Decoder{plan: p}
	if p.layered {
		d.layered = layered.NewDecoder(p.layeredFormat(), p.wants(layers))
	} else {
		d.pointwise = pointwise.NewDecoder(p.pointwise())
	}
	return d, nil
}

// room returns a buffer for a chunk of n bytes and what must follow it.
func (d *Decoder) room(n int) []byte {
	pad := layered.Pad
	if d.pointwise != nil {
		pad = d.pointwise.Pad()
	}
	d.buf = slices.Grow(d.buf[:0], n+pad)[:n+pad]
	return d.buf
}

// Decode appends to dst the records of a chunk of the given number of points.
// If it fails, dst has the points before the one that failed.
func (d *Decoder) Decode(dst, chunk []byte, points int) ([]byte, error) {
	copy(d.room(len(chunk)), chunk)
	return d.decode(context.Background(), dst, len(chunk), uint64(points))
}

// decode is Decode of the first n bytes of the buffer that room gave.
func (d *Decoder) decode(ctx context.Context, dst []byte, n int, points uint64) ([]byte, error) {
	if err := d.start(n, points, nil); err != nil {
		return dst, err
	}
	for points > 0 {
		part := d.plan.part(points)
		at := len(dst)
		dst = slices.Grow(dst, int(part)*d.plan.size)[:at+int(part)*d.plan.size]
		done, err := d.next(dst[at:])
		if err != nil {
			return dst[:at+done*d.plan.size], err
		}
		if err := ctx.Err(); err != nil {
			return dst, err
		}
		points -= part
	}
	return dst, nil
}

// partBytes is how many bytes of records are decoded at a time: memory is taken
// as they come, for a chunk may claim any number of points.
const partBytes = 2 << 20

// part returns how many of the points left are decoded at a time.
func (p plan) part(points uint64) uint64 {
	return min(points, max(uint64(partBytes/p.size), 1))
}

// start begins with the chunk in the first n bytes of the buffer.
func (d *Decoder) start(n int, points uint64, more pointwise.Source) error {
	if d.pointwise != nil {
		return d.pointwise.Start(d.buf, n, more)
	}
	got, err := d.layered.Start(d.buf, n)
	if err == nil && uint64(got) != points {
		err = fmt.Errorf("%w: it has %d points, and should have %d", ErrCorrupt, got, points)
	}
	return err
}

// next decodes records, as many as dst has room for.
func (d *Decoder) next(dst []byte) (int, error) {
	if d.pointwise != nil {
		return d.pointwise.Next(dst)
	}
	return d.layered.Next(dst)
}

// Encoder encodes chunks, one after the other. It must not be used by two
// goroutines at once.
type Encoder struct {
	plan      plan
	pointwise *pointwise.Encoder
	layered   *layered.Encoder
}

// NewEncoder returns an encoder of chunks of files with the record.
func NewEncoder(rec Record) (*Encoder, error) {
	p, err := rec.plan()
	if err != nil {
		return nil, err
	}
	if rec.Compressor == Stored {
		return nil, errors.New("laz: the record says that points are not compressed")
	}
	e := &Encoder{plan: p}
	if p.layered {
		e.layered = layered.NewEncoder(p.layeredFormat())
	} else {
		e.pointwise = pointwise.NewEncoder(p.pointwise())
	}
	return e, nil
}

// Encode appends to dst the chunk of records, which are one or more, back to
// back; fewer or a piece of one is an error. The same records give the same
// bytes.
func (e *Encoder) Encode(dst, records []byte) ([]byte, error) {
	n := len(records) / e.plan.size
	if n == 0 || len(records)%e.plan.size != 0 || uint64(n) >= VariableChunks {
		return dst, fmt.Errorf("laz: a chunk can't have %d bytes of records of %d bytes", len(records), e.plan.size)
	}
	if e.pointwise != nil {
		return e.pointwise.Encode(dst, records), nil
	}
	return e.layered.Encode(dst, records), nil
}

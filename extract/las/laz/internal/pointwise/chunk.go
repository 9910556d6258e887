package pointwise

import (
	"quoin/extract/las/laz/internal/arith"
)

// Source gives the bytes of a chunk whose end is not known beforehand.
type Source interface {
	// More returns the bytes from the given place in its last result on, and
	// what comes next, followed by pad bytes of anything. It returns as many
	// bytes as it was given, pad apart, if there are no more.
	More(from, pad int) ([]byte, error)
}

// Decoder decodes chunks. It may be used for one after the other.
type Decoder struct {
	parts *parts
	coder arith.Decoder
	last  []byte
	end   int // of the bytes of buf that may be used
	low   int // from where on more is asked for
	first bool
	more  Source
}

// NewDecoder returns a decoder of records of format f.
func NewDecoder(f Format) *Decoder {
	p := newParts(f, true)
	return &Decoder{parts: p, last: make([]byte, p.size)}
}

// Pad is how many bytes must follow a chunk in the buffer that it is decoded
// from: what a point may take, and what the coder reads ahead.
func (d *Decoder) Pad() int {
	const integers, symbols = 6 + 4 + 6, 8 + 3 + 7 + 2
	return integers*arith.MaxInteger + (symbols+d.parts.Extra)*arith.MaxSymbol +
		d.parts.Extra*arith.MaxInteger + 32 + arith.Pad
}

// Start begins with the chunk that buf begins with, whose bytes end at end at
// the latest; Pad more bytes must follow. If more is not nil it is asked for
// bytes when those end.
func (d *Decoder) Start(buf []byte, end int, more Source) error {
	if end < d.parts.size+arith.StartBytes {
		return arith.ErrShort
	}
	d.more, d.first = more, true
	d.bound(end)
	copy(d.last, buf)
	d.parts.reset(d.last)
	if !d.coder.Start(buf, d.parts.size, end) {
		return arith.ErrCorrupt
	}
	return nil
}

// bound takes note of where the bytes end.
func (d *Decoder) bound(end int) {
	d.end, d.low = end, end
	if d.more != nil {
		d.low -= d.Pad()
	}
}

// Next decodes as many records as dst has room for. It returns how many were
// decoded, all if the error is nil.
func (d *Decoder) Next(dst []byte) (int, error) {
	size, n := d.parts.size, 0
	last := d.last
	for ; len(dst) >= size; dst = dst[size:] {
		rec := dst[:size:size]
		if d.first {
			copy(rec, last)
			d.first = false
		} else {
			d.parts.decode(&d.coder, last, rec)
			if d.coder.Bad() {
				return n, d.coder.Fault()
			}
			if d.coder.Pos() > d.low {
				if err := d.refill(); err != nil {
					return n, err
				}
			}
		}
		last = rec
		n++
	}
	copy(d.last, last)
	return n, nil
}

// refill drops the bytes decoded and gets more.
func (d *Decoder) refill() error {
	pos, pad := d.coder.Pos(), d.Pad()
	left := d.end - pos
	buf, err := d.more.More(pos, pad)
	if err != nil {
		return err
	}
	end := len(buf) - pad
	if end <= left {
		d.more = nil
	}
	d.bound(end)
	d.coder.Move(buf, end)
	return nil
}

// Pos returns where in the buffer, the one given last, the chunk ends if all
// its points were decoded.
func (d *Decoder) Pos() int { return d.coder.Pos() }

// Encoder encodes chunks. It may be used for one after the other.
type Encoder struct {
	parts *parts
	coder arith.Encoder
}

// NewEncoder returns an encoder of records of format f.
func NewEncoder(f Format) *Encoder { return &Encoder{parts: newParts(f, false)} }

// Encode appends to dst the chunk of records, one at least.
func (e *Encoder) Encode(dst, records []byte) []byte {
	size := e.parts.size
	last := records[:size]
	e.parts.reset(last)
	e.coder.Start(append(dst, last...))
	for rest := records[size:]; len(rest) >= size; rest = rest[size:] {
		e.parts.encode(&e.coder, last, rest[:size])
		last = rest[:size]
	}
	return e.coder.Done()
}

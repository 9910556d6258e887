package layered

import (
	"encoding/binary"
	"fmt"

	"quoin/extract/las/laz/internal/arith"
)

// Pad is how many bytes must follow a chunk in the buffer that it is decoded
// from: what a point may take of a layer, and what the coder reads ahead.
const Pad = 8*arith.MaxInteger + arith.Pad

// Head returns the length of what comes before a chunk's layers.
func (f Format) Head() int { return f.size() + 4 + 4*f.LayerCount() }

// LayerCount returns the number of layers.
func (f Format) LayerCount() int {
	n := coreLayers + f.Extra
	for _, has := range []bool{f.Colours, f.NIR, f.Packets} {
		if has {
			n++
		}
	}
	return n
}

// Decoder decodes chunks. It may be used for one after the other.
type Decoder struct {
	format  Format
	size    int
	layers  []layer
	coders  []arith.Decoder
	on      []bool
	want    []bool
	record  []byte // the first
	started bool
	block   block
	steps   [blockSize]step
}

// NewDecoder returns a decoder of the layers of records of format f that want
// asks for; the first one is always decoded.
func NewDecoder(f Format, want func(layer int) bool) *Decoder {
	n := f.LayerCount()
	d := &Decoder{
		format: f, size: f.size(), layers: f.layers(true), coders: make([]arith.Decoder, n),
		on: make([]bool, n), want: make([]bool, n), record: make([]byte, f.size()),
	}
	for i := range d.want {
		d.want[i] = i == LayerXY || want(i)
	}
	return d
}

// Length reads from a chunk's head, which must be Head long, how many points
// it has and how many bytes.
func (f Format) Length(head []byte) (points uint32, size int64) {
	points = binary.LittleEndian.Uint32(head[f.size():])
	size = int64(f.Head())
	for at := f.size() + 4; at < f.Head(); at += 4 {
		size += int64(binary.LittleEndian.Uint32(head[at:]))
	}
	return points, size
}

// Start begins with the chunk buf[:end], which Pad more bytes must follow. It
// returns the number of points.
func (d *Decoder) Start(buf []byte, end int) (points uint32, err error) {
	head := d.format.Head()
	if end < head {
		return 0, arith.ErrShort
	}
	points, size := d.format.Length(buf)
	if size > int64(end) {
		return 0, fmt.Errorf("%w: its layers take %d bytes, and there are %d", arith.ErrShort, size, end)
	}
	if points == 0 {
		return 0, fmt.Errorf("%w: it has no points", arith.ErrCorrupt)
	}
	copy(d.record, buf)
	d.started = false
	at := head
	for i, l := range d.layers {
		size := int(binary.LittleEndian.Uint32(buf[d.size+4+4*i:]))
		d.on[i] = d.want[i] && size > 0
		if size > 0 && size < arith.StartBytes || size == 0 && i == LayerXY {
			return 0, fmt.Errorf("%w: layer %d has %d bytes", arith.ErrCorrupt, i, size)
		}
		if d.on[i] {
			if !d.coders[i].Start(buf, at, at+size) {
				return 0, fmt.Errorf("%w: no stream starts as layer %d does", arith.ErrCorrupt, i)
			}
			l.reset(d.record)
		}
		at += size
	}
	return points, nil
}

// Next decodes as many records as dst has room for. It returns how many were
// decoded, all if the error is nil.
func (d *Decoder) Next(dst []byte) (int, error) {
	n := 0
	if !d.started && len(dst) >= d.size {
		copy(dst, d.record)
		dst = dst[d.size:]
		d.started = true
		n = 1
	}
	for len(dst) >= d.size {
		points := min(len(dst)/d.size, blockSize)
		done, err := d.decode(dst[:points*d.size], d.steps[:points])
		n += done
		if err != nil {
			return n, err
		}
		dst = dst[points*d.size:]
	}
	return n, nil
}

// decode decodes a block of points.
func (d *Decoder) decode(dst []byte, steps []step) (int, error) {
	// Whatever has no layer is as in the first record.
	copy(dst, d.record)
	for filled := d.size; filled < len(dst); filled *= 2 {
		copy(dst[filled:], dst[:filled])
	}
	b := &d.block
	*b = block{records: dst, size: d.size, steps: steps}
	var err error
	for i, l := range d.layers {
		if !d.on[i] {
			continue
		}
		// After a fault the other layers go on up to the point of it.
		if done := l.decode(&d.coders[i], b); done < len(b.steps) {
			b.steps = b.steps[:done]
			err = fmt.Errorf("%w in layer %d", d.coders[i].Fault(), i)
		}
	}
	return len(b.steps), err
}

// Encoder encodes chunks. It may be used for one after the other.
type Encoder struct {
	format Format
	layers []layer
	coders []arith.Encoder
	on     []bool
	out    [][]byte
	block  block
	steps  [blockSize]step
}

// NewEncoder returns an encoder of records of format f.
func NewEncoder(f Format) *Encoder {
	n := f.LayerCount()
	return &Encoder{
		format: f, layers: f.layers(false), coders: make([]arith.Encoder, n), on: make([]bool, n), out: make([][]byte, n),
	}
}

// Encode appends to dst the chunk of records, one at least.
func (e *Encoder) Encode(dst, records []byte) []byte {
	size := e.format.size()
	for i, l := range e.layers {
		e.on[i] = !l.silent(records, size)
		e.coders[i].Start(e.out[i][:0])
		l.reset(records)
	}
	for rest := records[size:]; len(rest) >= size; {
		points := min(len(rest)/size, blockSize)
		e.block = block{records: rest[:points*size], size: size, steps: e.steps[:points]}
		for i, l := range e.layers {
			if e.on[i] {
				l.encode(&e.coders[i], &e.block)
			}
		}
		rest = rest[points*size:]
	}
	dst = append(dst, records[:size]...)
	dst = binary.LittleEndian.AppendUint32(dst, uint32(len(records)/size))
	for i := range e.layers {
		if e.out[i] = e.coders[i].Done(); !e.on[i] {
			e.out[i] = e.out[i][:0]
		}
		dst = binary.LittleEndian.AppendUint32(dst, uint32(len(e.out[i])))
	}
	for _, out := range e.out {
		dst = append(dst, out...)
	}
	return dst
}

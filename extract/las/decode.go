package las

import (
	"encoding/binary"
	"math"

	"quoin/extract/cloud"
)

// Columns is a set of columns of a batch.
type Columns uint16

// The columns that can be left out.
const (
	Intensity Columns = 1 << iota
	Time
	Class
	Flags
	ScanAngle
	Source
	Colour
	// AllColumns are all that the point format has.
	AllColumns Columns = 1<<iota - 1
	// rawRecords are whole records, with what no column holds.
	rawRecords Columns = 1<<16 - 1
)

// A decoder turns records into column batches, reusing one batch.
type decoder struct {
	layout        Layout
	length        int
	scale, offset [3]float64
	columns       Columns
	full, batch   cloud.Batch // full has the columns at their whole length
}

func newDecoder(h *Header, c Columns) *decoder {
	layout, _ := LayoutOf(h.Format)
	if layout.Time == absent {
		c &^= Time
	}
	if layout.Colour == absent {
		c &^= Colour
	}
	d := &decoder{layout: layout, length: h.RecordLength(), scale: h.Scale, offset: h.Offset, columns: c}
	d.allocate(int(min(h.Count, chunkPoints)))
	return d
}

func (d *decoder) allocate(n int) {
	d.full = cloud.Batch{
		X: make([]float64, n), Y: make([]float64, n), Z: make([]float64, n),
		Return: make([]uint8, n), Returns: make([]uint8, n), Channel: make([]uint8, n),
		Time:      column[float64](d, Time, n),
		Intensity: column[uint16](d, Intensity, n),
		Class:     column[uint8](d, Class, n),
		Flags:     column[cloud.Flag](d, Flags, n),
		ScanAngle: column[float32](d, ScanAngle, n),
		Source:    column[uint16](d, Source, n),
		Red:       column[uint16](d, Colour, n), Green: column[uint16](d, Colour, n), Blue: column[uint16](d, Colour, n),
	}
}

func column[T any](d *decoder, c Columns, n int) []T {
	if d.columns&c == 0 {
		return nil
	}
	return make([]T, n)
}

// cut returns the first n entries of a column, nil for a column left out.
func cut[T any](column []T, n int) []T {
	if column == nil {
		return nil
	}
	return column[:n]
}

// decode returns the columns of whole records, valid until the next call.
func (d *decoder) decode(records []byte) *cloud.Batch {
	n := len(records) / d.length
	if n > len(d.full.X) {
		// A compressed file may say less in its header than it holds.
		d.allocate(n)
	}
	f := &d.full
	d.batch = cloud.Batch{
		X: f.X[:n], Y: f.Y[:n], Z: f.Z[:n], Return: f.Return[:n], Returns: f.Returns[:n], Channel: f.Channel[:n],
		Time: cut(f.Time, n), Intensity: cut(f.Intensity, n), Class: cut(f.Class, n), Flags: cut(f.Flags, n),
		ScanAngle: cut(f.ScanAngle, n), Source: cut(f.Source, n),
		Red: cut(f.Red, n), Green: cut(f.Green, n), Blue: cut(f.Blue, n),
	}
	d.coordinates(records)
	if d.layout.Extended {
		d.extended(records)
	} else {
		d.legacy(records)
	}
	d.words(records)
	d.timeAndColour(records)
	return &d.batch
}

// coordinates rounds each product, so that no architecture fuses it with the
// sum and the same file gives the same numbers everywhere.
func (d *decoder) coordinates(records []byte) {
	le := binary.LittleEndian
	x, y, z := d.batch.X, d.batch.Y[:len(d.batch.X)], d.batch.Z[:len(d.batch.X)]
	s, o := d.scale, d.offset
	for i := range x {
		rec := records[i*d.length:][:12]
		x[i] = float64(float64(int32(le.Uint32(rec)))*s[0]) + o[0]
		y[i] = float64(float64(int32(le.Uint32(rec[4:])))*s[1]) + o[1]
		z[i] = float64(float64(int32(le.Uint32(rec[8:])))*s[2]) + o[2]
	}
}

// extended decodes bytes 14 to 19 of formats 6 to 10.
func (d *decoder) extended(records []byte) {
	b := &d.batch
	number, returns, channel := b.Return, b.Returns[:len(b.Return)], b.Channel[:len(b.Return)]
	for i := range number {
		rec := records[i*d.length:][:20]
		number[i], returns[i], channel[i] = rec[14]&15, rec[14]>>4, rec[15]>>4&3
	}
	for i := range b.Flags {
		v := records[i*d.length+15]
		b.Flags[i] = cloud.Flag(v&15 | v>>6<<4)
	}
	for i := range b.Class {
		b.Class[i] = records[i*d.length+16]
	}
	for i := range b.ScanAngle {
		steps := int16(binary.LittleEndian.Uint16(records[i*d.length+18:]))
		b.ScanAngle[i] = float32(float64(steps) * angleStep)
	}
}

// legacy decodes bytes 14 to 16 of formats 0 to 5. Class 12 there stands for
// the overlap flag of the later formats; the class is kept beside it.
func (d *decoder) legacy(records []byte) {
	b := &d.batch
	number, returns, channel := b.Return, b.Returns[:len(b.Return)], b.Channel[:len(b.Return)]
	for i := range number {
		v := records[i*d.length+14]
		number[i], returns[i], channel[i] = v&7, v>>3&7, 0
	}
	for i := range b.Flags {
		rec := records[i*d.length:][:20]
		flags := rec[15]>>5 | rec[14]>>6<<4
		if rec[15]&31 == classOverlap {
			flags |= uint8(cloud.Overlap)
		}
		b.Flags[i] = cloud.Flag(flags)
	}
	for i := range b.Class {
		b.Class[i] = records[i*d.length+15] & 31
	}
	for i := range b.ScanAngle {
		b.ScanAngle[i] = float32(int8(records[i*d.length+16]))
	}
}

func (d *decoder) words(records []byte) {
	for i := range d.batch.Intensity {
		d.batch.Intensity[i] = binary.LittleEndian.Uint16(records[i*d.length+12:])
	}
	for i := range d.batch.Source {
		d.batch.Source[i] = binary.LittleEndian.Uint16(records[i*d.length+d.layout.Source:])
	}
}

func (d *decoder) timeAndColour(records []byte) {
	for i := range d.batch.Time {
		d.batch.Time[i] = math.Float64frombits(binary.LittleEndian.Uint64(records[i*d.length+d.layout.Time:]))
	}
	for i := range d.batch.Red {
		rec := records[i*d.length+d.layout.Colour:][:6]
		d.batch.Red[i] = binary.LittleEndian.Uint16(rec)
		d.batch.Green[i] = binary.LittleEndian.Uint16(rec[2:])
		d.batch.Blue[i] = binary.LittleEndian.Uint16(rec[4:])
	}
}

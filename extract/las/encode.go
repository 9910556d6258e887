package las

import (
	"encoding/binary"
	"fmt"
	"math"

	"quoin/extract/cloud"
)

// An encoder turns column batches into records. Fields that a batch does not
// carry (user data, near infrared, waveform packet, extra bytes) become 0.
type encoder struct {
	layout        Layout
	length        int
	scale, offset [3]float64
	buffer        []byte
}

// encode returns the records of a batch; they stay valid until the next call.
func (e *encoder) encode(b *cloud.Batch) ([]byte, error) {
	if err := checkColumns(b); err != nil {
		return nil, err
	}
	size := b.Len() * e.length
	if cap(e.buffer) < size {
		e.buffer = make([]byte, size)
	}
	e.buffer = e.buffer[:size]
	clear(e.buffer)
	for axis, column := range [3][]float64{b.X, b.Y, b.Z} {
		if err := e.coordinates(axis, column); err != nil {
			return nil, err
		}
	}
	if err := e.attributes(b); err != nil {
		return nil, err
	}
	e.timeAndColour(b)
	return e.buffer, nil
}

// checkColumns makes sure that no column is read beyond its end: all have the
// length of X or are nil.
func checkColumns(b *cloud.Batch) error {
	n := b.Len()
	if len(b.Y) != n || len(b.Z) != n {
		return fmt.Errorf("columns x, y and z have %d, %d and %d values", n, len(b.Y), len(b.Z))
	}
	for _, length := range []int{
		len(b.Time), len(b.Intensity), len(b.Return), len(b.Returns), len(b.Class),
		len(b.Flags), len(b.ScanAngle), len(b.Source), len(b.Channel), len(b.Red), len(b.Green), len(b.Blue),
	} {
		if length != 0 && length != n {
			return fmt.Errorf("a column has %d values, x has %d", length, n)
		}
	}
	return nil
}

func (e *encoder) coordinates(axis int, column []float64) error {
	scale, offset := e.scale[axis], e.offset[axis]
	for i, v := range column {
		steps := math.Round((v - offset) / scale)
		if !(steps >= math.MinInt32 && steps <= math.MaxInt32) {
			return fmt.Errorf("point %d: %c = %g does not fit scale %g and offset %g", i, "xyz"[axis], v, scale, offset)
		}
		binary.LittleEndian.PutUint32(e.buffer[i*e.length+4*axis:], uint32(int32(steps)))
	}
	return nil
}

func (e *encoder) attributes(b *cloud.Batch) error {
	most := e.layout.maxReturn()
	for i := range b.Len() {
		rec := e.buffer[i*e.length : (i+1)*e.length]
		a := attributesAt(b, i)
		if a.number > most || a.returns > most {
			return fmt.Errorf("point %d: return %d of %d: the point format holds at most %d", i, a.number, a.returns, most)
		}
		var err error
		if e.layout.Extended {
			err = a.putExtended(rec)
		} else {
			err = a.putLegacy(rec)
		}
		if err != nil {
			return fmt.Errorf("point %d: %w", i, err)
		}
	}
	return nil
}

// attributes are the fields of one point that share bytes in a record.
type attributes struct {
	intensity, source               uint16
	number, returns, class, channel uint8
	flags                           cloud.Flag
	angle                           float32
}

func attributesAt(b *cloud.Batch, i int) attributes {
	return attributes{
		intensity: at(b.Intensity, i), source: at(b.Source, i), number: at(b.Return, i), returns: at(b.Returns, i),
		class: at(b.Class, i), channel: at(b.Channel, i), flags: at(b.Flags, i), angle: at(b.ScanAngle, i),
	}
}

// at returns an entry of a column, 0 when there is no column.
func at[T any](column []T, i int) (v T) {
	if len(column) == 0 {
		return v
	}
	return column[i]
}

// angleStep is the unit of the scan angle in formats 6 to 10, in degrees.
const angleStep = 0.006

func (a attributes) putExtended(rec []byte) error {
	if a.channel > 3 {
		return fmt.Errorf("scanner channel %d is above 3", a.channel)
	}
	steps := math.Round(float64(a.angle) / angleStep)
	if !(math.Abs(steps) <= 30000) {
		return fmt.Errorf("scan angle %g is beyond ±180 degrees", a.angle)
	}
	binary.LittleEndian.PutUint16(rec[12:], a.intensity)
	rec[14] = a.number | a.returns<<4
	// Bits 0-3 are synthetic, key-point, withheld, overlap; 4-5 the channel;
	// 6 scan direction; 7 edge of flight line.
	rec[15] = uint8(a.flags)&15 | a.channel<<4 | uint8(a.flags)>>4&3<<6
	rec[16] = a.class
	binary.LittleEndian.PutUint16(rec[18:], uint16(int16(steps)))
	binary.LittleEndian.PutUint16(rec[20:], a.source)
	return nil
}

// classOverlap is the class that marks overlap points in formats 0 to 5,
// which have no overlap flag.
const classOverlap = 12

func (a attributes) putLegacy(rec []byte) error {
	if a.class > 31 {
		return fmt.Errorf("class %d is above 31, which needs point format 6 or higher", a.class)
	}
	if a.channel != 0 {
		return fmt.Errorf("scanner channel %d needs point format 6 or higher", a.channel)
	}
	if a.flags&cloud.Overlap != 0 && a.class != classOverlap {
		return fmt.Errorf("an overlap flag beside class %d needs point format 6 or higher", a.class)
	}
	rank := math.Round(float64(a.angle))
	if !(math.Abs(rank) <= 90) {
		return fmt.Errorf("scan angle %g is beyond ±90 degrees", a.angle)
	}
	binary.LittleEndian.PutUint16(rec[12:], a.intensity)
	rec[14] = a.number | a.returns<<3 | uint8(a.flags)>>4&3<<6
	rec[15] = a.class | uint8(a.flags)&7<<5
	rec[16] = uint8(int8(rank))
	binary.LittleEndian.PutUint16(rec[18:], a.source)
	return nil
}

func (e *encoder) timeAndColour(b *cloud.Batch) {
	if e.layout.Time != absent {
		for i, t := range b.Time {
			putFloat(e.buffer[i*e.length+e.layout.Time:], t)
		}
	}
	if e.layout.Colour == absent {
		return
	}
	for k, column := range [3][]uint16{b.Red, b.Green, b.Blue} {
		for i, v := range column {
			binary.LittleEndian.PutUint16(e.buffer[i*e.length+e.layout.Colour+2*k:], v)
		}
	}
}

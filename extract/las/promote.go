package las

import (
	"encoding/binary"
	"fmt"
	"math"
)

// promoted returns the point format of LAS 1.4 that takes the place of an
// older one without a field being lost, and false where there is none.
func promoted(format uint8) (uint8, bool) {
	switch format {
	case 0, 1:
		return 6, true
	case 2, 3:
		return 7, true
	case 6, 7, 8:
		return format, true
	}
	return 0, false
}

// Classes that have a meaning in formats 0 to 5 only: in formats 6 to 10
// flags stand for them.
const (
	classUnclassified = 1
	classKeyPoint     = 8
)

// A promoter rewrites records of formats 0 to 3 as formats 6 and 7.
//
// Overlap points (class 12) become unclassified with the overlap flag, and
// model key-points (class 8) keep their class and get the flag: ASPRS LAS 1.4
// R15, tables 9 and 17.
type promoter struct {
	from, to     Layout
	extra        int
	buffer       []byte
	overlap, key uint64 // points of classes 12 and 8
}

func newPromoter(h *Header) (*promoter, uint8, error) {
	format, ok := promoted(h.Format)
	if !ok {
		return nil, 0, fmt.Errorf("point format %d has waveform packets, which COPC cannot hold", h.Format)
	}
	p := &promoter{extra: h.ExtraBytes}
	p.from, _ = LayoutOf(h.Format)
	p.to, _ = LayoutOf(format)
	return p, format, nil
}

// promote returns the records in the new format, valid until the next call.
func (p *promoter) promote(records []byte) []byte {
	if p.from.Extended {
		return records
	}
	from, to := p.from.Length+p.extra, p.to.Length+p.extra
	n := len(records) / from
	if cap(p.buffer) < n*to {
		p.buffer = make([]byte, n*to)
	}
	p.buffer = p.buffer[:n*to]
	clear(p.buffer)
	for i := range n {
		p.record(p.buffer[i*to:(i+1)*to], records[i*from:(i+1)*from])
	}
	return p.buffer
}

func (p *promoter) record(to, from []byte) {
	copy(to[:14], from[:14]) // x, y, z, intensity
	number, returns := from[14]&7, from[14]>>3&7
	to[14] = number | returns<<4
	class, flags := from[15]&31, from[15]>>5
	switch class {
	case classOverlap:
		class, flags = classUnclassified, flags|8
		p.overlap++
	case classKeyPoint:
		flags |= 2
		p.key++
	}
	to[15] = flags | from[14]&0xC0 // scan direction and edge stay bits 6 and 7
	to[16], to[17] = class, from[17]
	rank := float64(int8(from[16]))
	binary.LittleEndian.PutUint16(to[18:], uint16(int16(math.Round(rank/angleStep))))
	copy(to[20:22], from[18:20])
	if p.from.Time != absent {
		copy(to[p.to.Time:p.to.Time+8], from[p.from.Time:])
	}
	if p.from.Colour != absent {
		copy(to[p.to.Colour:p.to.Colour+6], from[p.from.Colour:])
	}
	copy(to[p.to.Length:], from[p.from.Length:])
}

// notes tells what the rewriting changed beside the format.
func (p *promoter) notes(report *ConvertReport) {
	if p.overlap > 0 {
		report.note("%d points of class 12 (overlap) became class 1 with the overlap flag", p.overlap)
	}
	if p.key > 0 {
		report.note("%d points of class 8 (model key-point) got the key-point flag beside it", p.key)
	}
}

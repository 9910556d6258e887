package item

import (
	"encoding/binary"

	"quoin/extract/las/laz/internal/arith"
)

// PacketSize is the size of a wave packet's description: index of the
// descriptor, offset, size, and four numbers.
const PacketSize = 29

// The ways in which a packet's offset follows from the one before.
const (
	offsetSame = iota
	offsetNext
	offsetDiff
	offsetNew
)

// Packets codes descriptions of wave packets.
type Packets struct {
	index    arith.Bank
	how      arith.Bank
	jump     arith.Integer
	size     arith.Integer
	place    arith.Integer
	xyz      arith.Integer
	lastHow  uint32
	lastJump int32
}

// NewPackets returns a coder of wave packets.
func NewPackets(search bool) Packets {
	return Packets{
		index: arith.NewBank(1, 256, search),
		how:   arith.NewBank(4, 4, search),
		jump:  arith.NewInteger(32, 1, search),
		size:  arith.NewInteger(32, 1, search),
		place: arith.NewInteger(32, 1, search),
		xyz:   arith.NewInteger(32, 3, search),
	}
}

// Reset begins a chunk.
func (p *Packets) Reset() {
	p.index.Reset()
	p.how.Reset()
	p.jump.Reset()
	p.size.Reset()
	p.place.Reset()
	p.xyz.Reset()
	p.lastHow, p.lastJump = 0, 0
}

// Decode writes into dst the packet that comes after last; both are of
// PacketSize and may be the same.
func (p *Packets) Decode(d *arith.Decoder, last, dst []byte) {
	last, dst = last[:PacketSize], dst[:PacketSize]
	dst[0] = byte(d.Symbol(p.index.At(0)))
	offset, size := binary.LittleEndian.Uint64(last[1:]), binary.LittleEndian.Uint32(last[9:])
	p.lastHow = d.Symbol(p.how.At(p.lastHow))
	switch p.lastHow {
	case offsetNext:
		offset += uint64(size)
	case offsetDiff:
		p.lastJump = d.Integer(&p.jump, p.lastJump, 0)
		offset += uint64(int64(p.lastJump))
	case offsetNew:
		offset = d.Uint64()
	}
	binary.LittleEndian.PutUint64(dst[1:], offset)
	number := func(at int, c *arith.Integer, ctx uint32) {
		v := d.Integer(c, int32(binary.LittleEndian.Uint32(last[at:])), ctx)
		binary.LittleEndian.PutUint32(dst[at:], uint32(v))
	}
	number(9, &p.size, 0)
	number(13, &p.place, 0)
	number(17, &p.xyz, 0)
	number(21, &p.xyz, 1)
	number(25, &p.xyz, 2)
}

// Encode writes the packet src that comes after last.
func (p *Packets) Encode(e *arith.Encoder, last, src []byte) {
	e.Symbol(p.index.At(0), uint32(src[0]))
	offset := binary.LittleEndian.Uint64(src[1:])
	delta := int64(offset - binary.LittleEndian.Uint64(last[1:]))
	how := uint32(offsetNew)
	if delta == int64(int32(delta)) {
		switch delta {
		case 0:
			how = offsetSame
		case int64(binary.LittleEndian.Uint32(last[9:])):
			how = offsetNext
		default:
			how = offsetDiff
		}
	}
	e.Symbol(p.how.At(p.lastHow), how)
	p.lastHow = how
	switch how {
	case offsetDiff:
		e.Integer(&p.jump, p.lastJump, int32(delta), 0)
		p.lastJump = int32(delta)
	case offsetNew:
		e.Uint64(offset)
	}
	number := func(at int, c *arith.Integer, ctx uint32) {
		e.Integer(c, int32(binary.LittleEndian.Uint32(last[at:])), int32(binary.LittleEndian.Uint32(src[at:])), ctx)
	}
	number(9, &p.size, 0)
	number(13, &p.place, 0)
	number(17, &p.xyz, 0)
	number(21, &p.xyz, 1)
	number(25, &p.xyz, 2)
}

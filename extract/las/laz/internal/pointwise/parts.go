package pointwise

import (
	"encoding/binary"

	"quoin/extract/las/laz/internal/arith"
	"quoin/extract/las/laz/internal/item"
)

// parts has the models of a record's parts, of the version that a format has.
type parts struct {
	layout
	core       *core
	oldCore    *oldCore
	times      item.Times
	oldTimes   *oldTimes
	colours    item.Colours
	oldColours *oldColours
	packets    item.Packets
	extra      arith.Bank
	oldExtra   arith.Integer
}

func newParts(f Format, search bool) *parts {
	p := &parts{layout: f.layout()}
	if f.Version == 1 {
		p.oldCore = newOldCore(search)
		p.oldTimes = newOldTimes(search)
		p.oldColours = newOldColours(search)
		p.oldExtra = arith.NewInteger(8, f.Extra, search)
	} else {
		p.core = newCore(search)
		p.times = item.NewTimes(false, search)
		p.colours = item.NewColours(search)
		p.extra = arith.NewBank(f.Extra, 256, search)
	}
	p.packets = item.NewPackets(search)
	return p
}

// reset begins a chunk with its first record.
func (p *parts) reset(first []byte) {
	time := uint64(0)
	if p.Times {
		time = binary.LittleEndian.Uint64(first[p.time:])
	}
	p.packets.Reset()
	if p.Version == 1 {
		p.oldCore.reset()
		p.oldTimes.reset(time)
		p.oldColours.reset()
		p.oldExtra.Reset()
		return
	}
	p.core.reset()
	p.times.Reset(time)
	p.colours.Reset()
	p.extra.Reset()
}

// decode writes into rec the record that comes after last.
func (p *parts) decode(d *arith.Decoder, last, rec []byte) {
	if p.Version == 1 {
		p.decodeOld(d, last, rec)
		return
	}
	p.core.decode(d, last, rec)
	if p.Times {
		binary.LittleEndian.PutUint64(rec[p.time:], p.times.Decode(d))
	}
	if p.Colours {
		putColour(rec[p.colour:], p.colours.Decode(d, colour(last[p.colour:])))
	}
	if p.Packets {
		p.packets.Decode(d, last[p.packet:], rec[p.packet:])
	}
	for i := range p.Extra {
		at := p.layout.extra + i
		rec[at] = last[at] + byte(d.Symbol(p.extra.At(uint32(i))))
	}
}

func (p *parts) decodeOld(d *arith.Decoder, last, rec []byte) {
	p.oldCore.decode(d, last, rec)
	if p.Times {
		binary.LittleEndian.PutUint64(rec[p.time:], p.oldTimes.decode(d))
	}
	if p.Colours {
		p.oldColours.decode(d, last[p.colour:], rec[p.colour:])
	}
	if p.Packets {
		p.packets.Decode(d, last[p.packet:], rec[p.packet:])
	}
	for i := range p.Extra {
		at := p.layout.extra + i
		rec[at] = byte(d.Integer(&p.oldExtra, int32(last[at]), uint32(i)))
	}
}

// encode writes the record rec that comes after last.
func (p *parts) encode(e *arith.Encoder, last, rec []byte) {
	if p.Version == 1 {
		p.encodeOld(e, last, rec)
		return
	}
	p.core.encode(e, last, rec)
	if p.Times {
		p.times.Encode(e, binary.LittleEndian.Uint64(rec[p.time:]))
	}
	if p.Colours {
		p.colours.Encode(e, colour(last[p.colour:]), colour(rec[p.colour:]))
	}
	if p.Packets {
		p.packets.Encode(e, last[p.packet:], rec[p.packet:])
	}
	for i := range p.Extra {
		at := p.layout.extra + i
		e.Symbol(p.extra.At(uint32(i)), uint32(rec[at]-last[at]))
	}
}

func (p *parts) encodeOld(e *arith.Encoder, last, rec []byte) {
	p.oldCore.encode(e, last, rec)
	if p.Times {
		p.oldTimes.encode(e, binary.LittleEndian.Uint64(rec[p.time:]))
	}
	if p.Colours {
		p.oldColours.encode(e, last[p.colour:], rec[p.colour:])
	}
	if p.Packets {
		p.packets.Encode(e, last[p.packet:], rec[p.packet:])
	}
	for i := range p.Extra {
		at := p.layout.extra + i
		e.Integer(&p.oldExtra, int32(last[at]), int32(rec[at]), uint32(i))
	}
}

func colour(b []byte) item.RGB {
	return item.RGB{binary.LittleEndian.Uint16(b), binary.LittleEndian.Uint16(b[2:]), binary.LittleEndian.Uint16(b[4:])}
}

func putColour(b []byte, c item.RGB) {
	binary.LittleEndian.PutUint16(b, c[0])
	binary.LittleEndian.PutUint16(b[2:], c[1])
	binary.LittleEndian.PutUint16(b[4:], c[2])
}

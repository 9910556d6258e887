package layered

import (
	"encoding/binary"

	"quoin/extract/las/laz/internal/arith"
	"quoin/extract/las/laz/internal/item"
)

// A coder codes a part of a record beside the part before.
type coder interface {
	reset()
	decode(d *arith.Decoder, last, dst []byte)
	encode(e *arith.Encoder, last, src []byte)
}

// A part is a layer other than the core's. It keeps models and the latest
// value for each context.
type part struct {
	turns
	at, size int
	models   [channels]coder
	last     [channels][packetSize]byte
	make     func() coder
	// colour is set where a value that stays the same is not silent unless it
	// is grey: so the format's first encoder has it.
	colour bool
}

func newColours(at, version int, search bool) *part {
	fresh := func() coder { return &colours{item.NewColours(search)} }
	return &part{turns: turns{version: version}, at: at, size: colourSize, make: fresh, colour: true}
}

func newInfrared(at, version int, search bool) *part {
	fresh := func() coder {
		return &infrared{used: arith.NewBank(1, 4, search), diff: arith.NewBank(2, 256, search)}
	}
	return &part{turns: turns{version: version}, at: at, size: nirSize, make: fresh}
}

func newPackets(at, version int, search bool) *part {
	fresh := func() coder { return &packets{item.NewPackets(search)} }
	return &part{turns: turns{version: version}, at: at, size: packetSize, make: fresh}
}

func newByte(at, version int, search bool) *part {
	fresh := func() coder { return &single{arith.NewBank(1, 256, search)} }
	return &part{turns: turns{version: version}, at: at, size: 1, make: fresh}
}

func (p *part) reset(first []byte) {
	ch := p.turns.reset(first)
	p.ready(ch)
	copy(p.last[ch][:p.size], first[p.at:])
}

func (p *part) ready(ch uint32) {
	if p.models[ch] == nil {
		p.models[ch] = p.make()
	}
	p.models[ch].reset()
}

// enter changes to a context other than the current one, and returns the
// number of the one whose value counts.
func (p *part) enter(arg uint32) uint32 {
	was := p.cur
	value, fresh := p.turns.enter(arg)
	if fresh {
		p.ready(arg)
		p.last[arg] = p.last[was]
	}
	return value
}

func (p *part) silent(records []byte, size int) bool {
	if !alike(records, size, p.at, p.size) {
		return false
	}
	c := records[p.at:]
	return !p.colour || len(records) == size || c[0] == c[2] && c[1] == c[3] && c[0] == c[4] && c[1] == c[5]
}

func (p *part) decode(d *arith.Decoder, b *block) int {
	for i, s := range b.steps {
		value := p.cur
		if arg := s.context(p.version); arg != p.cur {
			value = p.enter(arg)
		}
		last := p.last[value][:p.size]
		p.models[p.cur].decode(d, last, last)
		if d.Bad() {
			return i
		}
		copy(b.records[i*b.size+p.at:][:p.size], last)
	}
	return len(b.steps)
}

func (p *part) encode(e *arith.Encoder, b *block) {
	for i, s := range b.steps {
		value := p.cur
		if arg := s.context(p.version); arg != p.cur {
			value = p.enter(arg)
		}
		last, now := p.last[value][:p.size], b.records[i*b.size+p.at:][:p.size]
		p.models[p.cur].encode(e, last, now)
		copy(last, now)
	}
}

// colours codes red, green and blue.
type colours struct{ item.Colours }

func (c *colours) reset() { c.Reset() }

func rgb(b []byte) item.RGB {
	return item.RGB{binary.LittleEndian.Uint16(b), binary.LittleEndian.Uint16(b[2:]), binary.LittleEndian.Uint16(b[4:])}
}

func (c *colours) decode(d *arith.Decoder, last, dst []byte) {
	v := c.Decode(d, rgb(last))
	binary.LittleEndian.PutUint16(dst, v[0])
	binary.LittleEndian.PutUint16(dst[2:], v[1])
	binary.LittleEndian.PutUint16(dst[4:], v[2])
}

func (c *colours) encode(e *arith.Encoder, last, src []byte) { c.Encode(e, rgb(last), rgb(src)) }

// infrared codes the near infrared, by its bytes.
type infrared struct {
	used arith.Bank
	diff arith.Bank
}

func (c *infrared) reset() {
	c.used.Reset()
	c.diff.Reset()
}

func (c *infrared) decode(d *arith.Decoder, last, dst []byte) {
	mask := d.Symbol(c.used.At(0))
	for i := range uint32(nirSize) {
		dst[i] = last[i]
		if mask>>i&1 != 0 {
			dst[i] += byte(d.Symbol(c.diff.At(i)))
		}
	}
}

func (c *infrared) encode(e *arith.Encoder, last, src []byte) {
	e.Symbol(c.used.At(0), item.Flag(last[0] != src[0])|item.Flag(last[1] != src[1])<<1)
	for i := range uint32(nirSize) {
		if last[i] != src[i] {
			e.Symbol(c.diff.At(i), uint32(src[i]-last[i]))
		}
	}
}

// packets codes descriptions of wave packets.
type packets struct{ item.Packets }

func (c *packets) reset() { c.Reset() }

func (c *packets) decode(d *arith.Decoder, last, dst []byte) { c.Decode(d, last, dst) }

func (c *packets) encode(e *arith.Encoder, last, src []byte) { c.Encode(e, last, src) }

// single codes an extra byte.
type single struct{ model arith.Bank }

func (c *single) reset() { c.model.Reset() }

func (c *single) decode(d *arith.Decoder, last, dst []byte) {
	dst[0] = last[0] + byte(d.Symbol(c.model.At(0)))
}

func (c *single) encode(e *arith.Encoder, last, src []byte) {
	e.Symbol(c.model.At(0), uint32(src[0]-last[0]))
}

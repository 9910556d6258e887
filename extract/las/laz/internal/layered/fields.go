package layered

import (
	"encoding/binary"

	"quoin/extract/las/laz/internal/arith"
	"quoin/extract/las/laz/internal/item"
)

// heights codes z.
type heights struct {
	contexts[height]
}

type height struct {
	z    arith.Integer
	last [8]int32
	z0   int32 // the latest
}

func newHeights(search bool) *heights {
	return &heights{newContexts(func() *height { return &height{z: arith.NewInteger(32, 20, search)} })}
}

func (c *height) reset(z int32) {
	c.z.Reset()
	c.z0 = z
	for i := range c.last {
		c.last[i] = z
	}
}

func (l *heights) reset(first []byte) {
	l.contexts.reset(first).reset(int32(binary.LittleEndian.Uint32(first[atZ:])))
}

func (l *heights) silent([]byte, int) bool { return false }

func (l *heights) enter(ch uint32) *height {
	c, seed := l.contexts.enter(ch)
	if seed != nil {
		c.reset(seed.z0)
	}
	return c
}

func (l *heights) decode(d *arith.Decoder, b *block) int {
	c := l.now()
	for i, s := range b.steps {
		if s.channel() != l.cur {
			c = l.enter(s.channel())
		}
		at := s.level()
		c.z0 = d.Integer(&c.z, c.last[at], item.Context(s.k(), limitZ, s.single()))
		if d.Bad() {
			return i
		}
		c.last[at] = c.z0
		binary.LittleEndian.PutUint32(b.records[i*b.size+atZ:], uint32(c.z0))
	}
	return len(b.steps)
}

func (l *heights) encode(e *arith.Encoder, b *block) {
	c := l.now()
	for i, s := range b.steps {
		if s.channel() != l.cur {
			c = l.enter(s.channel())
		}
		c.z0 = int32(binary.LittleEndian.Uint32(b.records[i*b.size+atZ:]))
		e.Integer(&c.z, c.last[s.level()], c.z0, item.Context(s.k(), limitZ, s.single()))
		c.last[s.level()] = c.z0
	}
}

// intensities codes intensities.
type intensities struct {
	contexts[intensity]
}

type intensity struct {
	v    arith.Integer
	last [8]uint16
	v0   uint16 // the latest
}

func newIntensities(search bool) *intensities {
	return &intensities{newContexts(func() *intensity { return &intensity{v: arith.NewInteger(16, 4, search)} })}
}

func (c *intensity) reset(v uint16) {
	c.v.Reset()
	c.v0 = v
	for i := range c.last {
		c.last[i] = v
	}
}

func (l *intensities) reset(first []byte) {
	l.contexts.reset(first).reset(binary.LittleEndian.Uint16(first[atIntensity:]))
}

func (l *intensities) silent(records []byte, size int) bool {
	return alike(records, size, atIntensity, 2)
}

func (l *intensities) enter(ch uint32) *intensity {
	c, seed := l.contexts.enter(ch)
	if seed != nil {
		c.reset(seed.v0)
	}
	return c
}

func (l *intensities) decode(d *arith.Decoder, b *block) int {
	c := l.now()
	for i, s := range b.steps {
		if s.channel() != l.cur {
			c = l.enter(s.channel())
		}
		at := 2*s.role() + s.time()
		c.v0 = uint16(d.Integer(&c.v, int32(c.last[at]), s.role()))
		if d.Bad() {
			return i
		}
		c.last[at] = c.v0
		binary.LittleEndian.PutUint16(b.records[i*b.size+atIntensity:], c.v0)
	}
	return len(b.steps)
}

func (l *intensities) encode(e *arith.Encoder, b *block) {
	c := l.now()
	for i, s := range b.steps {
		if s.channel() != l.cur {
			c = l.enter(s.channel())
		}
		at := 2*s.role() + s.time()
		c.v0 = binary.LittleEndian.Uint16(b.records[i*b.size+atIntensity:])
		e.Integer(&c.v, int32(c.last[at]), int32(c.v0), s.role())
		c.last[at] = c.v0
	}
}

// times codes GPS times.
type times struct {
	contexts[item.Times]
}

func newTimes(search bool) *times {
	return &times{newContexts(func() *item.Times { t := item.NewTimes(true, search); return &t })}
}

func (l *times) reset(first []byte) {
	l.contexts.reset(first).Reset(binary.LittleEndian.Uint64(first[atTime:]))
}

func (l *times) silent(records []byte, size int) bool { return alike(records, size, atTime, 8) }

func (l *times) enter(ch uint32) *item.Times {
	c, seed := l.contexts.enter(ch)
	if seed != nil {
		c.Reset(seed.Last())
	}
	return c
}

func (l *times) decode(d *arith.Decoder, b *block) int {
	c := l.now()
	t := c.Last()
	for i, s := range b.steps {
		if s.channel() != l.cur {
			c = l.enter(s.channel())
			t = c.Last()
		}
		if s.time() != 0 {
			t = c.Decode(d)
			if d.Bad() {
				return i
			}
		}
		binary.LittleEndian.PutUint64(b.records[i*b.size+atTime:], t)
	}
	return len(b.steps)
}

func (l *times) encode(e *arith.Encoder, b *block) {
	c := l.now()
	for i, s := range b.steps {
		if s.channel() != l.cur {
			c = l.enter(s.channel())
		}
		if s.time() != 0 {
			c.Encode(e, binary.LittleEndian.Uint64(b.records[i*b.size+atTime:]))
		}
	}
}

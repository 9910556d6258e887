package layered

import (
	"encoding/binary"

	"quoin/extract/las/laz/internal/arith"
)

// A rare layer codes a 16-bit number of those points only in which the first
// layer says that it has changed.
type rare struct {
	contexts[number]
	at int
}

type number struct {
	v    arith.Integer
	last uint16
}

func newRare(at, contexts int, search bool) *rare {
	return &rare{newContexts(func() *number { return &number{v: arith.NewInteger(16, contexts, search)} }), at}
}

func newAngles(search bool) *rare  { return newRare(atAngle, 2, search) }
func newSources(search bool) *rare { return newRare(atSource, 1, search) }

func (l *rare) reset(first []byte) {
	c := l.contexts.reset(first)
	c.v.Reset()
	c.last = binary.LittleEndian.Uint16(first[l.at:])
}

func (l *rare) silent(records []byte, size int) bool { return alike(records, size, l.at, 2) }

func (l *rare) enter(ch uint32) *number {
	c, seed := l.contexts.enter(ch)
	if seed != nil {
		c.v.Reset()
		c.last = seed.last
	}
	return c
}

// changed returns whether the layer has the point, its context, and the
// prediction: scan angles are signed.
func (l *rare) changed(s step, last uint16) (has bool, ctx uint32, pred int32) {
	if l.at == atAngle {
		return s.angle(), s.time(), int32(int16(last))
	}
	return s.source(), 0, int32(last)
}

func (l *rare) decode(d *arith.Decoder, b *block) int {
	c := l.now()
	for i, s := range b.steps {
		if s.channel() != l.cur {
			c = l.enter(s.channel())
		}
		if has, ctx, pred := l.changed(s, c.last); has {
			v := d.Integer(&c.v, pred, ctx)
			if d.Bad() {
				return i
			}
			c.last = uint16(v)
		}
		binary.LittleEndian.PutUint16(b.records[i*b.size+l.at:], c.last)
	}
	return len(b.steps)
}

func (l *rare) encode(e *arith.Encoder, b *block) {
	c := l.now()
	for i, s := range b.steps {
		if s.channel() != l.cur {
			c = l.enter(s.channel())
		}
		has, ctx, pred := l.changed(s, c.last)
		if !has {
			continue
		}
		c.last = binary.LittleEndian.Uint16(b.records[i*b.size+l.at:])
		real := int32(c.last)
		if l.at == atAngle {
			real = int32(int16(c.last))
		}
		e.Integer(&c.v, pred, real, ctx)
	}
}

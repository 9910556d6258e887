package layered

import (
	"bytes"
	"encoding/binary"

	"quoin/extract/las/laz/internal/arith"
	"quoin/extract/las/laz/internal/item"
)

// The bits of the mask of changed fields. The two low ones tell how the return
// number has changed.
const (
	returnSame  = 0
	returnNext  = 1
	returnPrev  = 2
	returnOther = 3

	countChanged   = 1 << 2
	angleChanged   = 1 << 3
	timeChanged    = 1 << 4
	sourceChanged  = 1 << 5
	channelChanged = 1 << 6
)

// medians is the number of contexts of differences in x and y.
const medians = 12

// places codes channels, return numbers, x and y, and what else has changed.
type places struct {
	contexts[place]
}

type place struct {
	changed    arith.Bank
	channel    arith.Bank
	count      arith.Bank
	number     arith.Bank
	numberSame arith.Bank
	dx, dy     arith.Integer
	xMed, yMed [medians]item.Median
	x, y       uint32
	returns    byte
	newTime    uint32
	// last is the latest record, in encoding.
	last [coreSize]byte
}

func newPlaces(search bool) *places {
	return &places{newContexts(func() *place {
		return &place{
			changed:    arith.NewBank(8, 128, search),
			channel:    arith.NewBank(1, 3, search),
			count:      arith.NewBank(16, 16, search),
			number:     arith.NewBank(16, 16, search),
			numberSame: arith.NewBank(1, 13, search),
			dx:         arith.NewInteger(32, 2, search),
			dy:         arith.NewInteger(32, 22, search),
		}
	})}
}

func (c *place) reset() {
	c.changed.Reset()
	c.channel.Reset()
	c.count.Reset()
	c.number.Reset()
	c.numberSame.Reset()
	c.dx.Reset()
	c.dy.Reset()
	for i := range c.xMed {
		c.xMed[i].Reset()
		c.yMed[i].Reset()
	}
	c.newTime = 0
}

func (l *places) reset(first []byte) {
	c := l.contexts.reset(first)
	c.reset()
	c.x, c.y = binary.LittleEndian.Uint32(first[atX:]), binary.LittleEndian.Uint32(first[atY:])
	c.returns = first[atReturns]
	copy(c.last[:], first)
}

func (l *places) silent([]byte, int) bool { return false }

// enter changes to another channel.
func (l *places) enter(ch uint32) *place {
	c, seed := l.contexts.enter(ch)
	if seed != nil {
		c.reset()
		c.x, c.y, c.returns, c.last = seed.x, seed.y, seed.returns, seed.last
	}
	return c
}

// past returns the context that follows from the return before, the reverse in
// its bits of a step's role.
func (c *place) past() uint32 {
	r, n := c.returns&15, c.returns>>4
	return item.Flag(r == 1) | item.Flag(r >= n)<<1 | c.newTime<<2
}

// limits of the classes that are contexts.
const (
	limitY = 20
	limitZ = 18
)

func (l *places) decode(d *arith.Decoder, b *block) int {
	c := l.now()
	for i := range b.steps {
		mask := d.Symbol(c.changed.At(c.past()))
		s := step(mask&angleChanged)<<(stepAngle-3) | step(mask&sourceChanged)<<(stepSource-5)
		if mask&channelChanged != 0 {
			c = l.enter((l.cur + d.Symbol(c.channel.At(0)) + 1) & 3)
			s |= 1 << stepMoved
		}
		gc := mask >> 4 & 1
		if mask&(countChanged|3) != 0 {
			c.decodeReturns(d, mask)
		}
		r, n := uint32(c.returns&15), uint32(c.returns>>4)
		single := item.Flag(n == 1)
		m := (2*uint32(item.Map16[n][r]) + gc) % medians
		dx := d.Integer(&c.dx, c.xMed[m].Get(), single)
		c.xMed[m].Add(dx)
		c.x += uint32(dx)
		k := c.dx.K
		dy := d.Integer(&c.dy, c.yMed[m].Get(), item.Context(k, limitY, single))
		c.yMed[m].Add(dy)
		c.y += uint32(dy)
		k = (k + c.dy.K) / 2
		if d.Bad() {
			return i
		}
		c.newTime = gc
		role := item.Flag(r == 1)<<1 | item.Flag(r >= n)
		b.steps[i] = s | step(item.Level(n, r)<<stepLevel|single<<stepSingle|role<<stepRole|gc<<stepTime|
			l.cur<<stepChannel|k<<stepK)
		rec := b.records[i*b.size:][:coreSize:coreSize]
		binary.LittleEndian.PutUint32(rec[atX:], c.x)
		binary.LittleEndian.PutUint32(rec[atY:], c.y)
		rec[atReturns] = c.returns
		rec[atFlags] = rec[atFlags]&^0x30 | byte(l.cur<<4)
	}
	return len(b.steps)
}

// decodeReturns decodes the number of returns and the return number.
func (c *place) decodeReturns(d *arith.Decoder, mask uint32) {
	r, n := uint32(c.returns&15), uint32(c.returns>>4)
	if mask&countChanged != 0 {
		n = d.Symbol(c.count.At(n))
	}
	switch mask & 3 {
	case returnNext:
		r++
	case returnPrev:
		r--
	case returnOther:
		if mask&timeChanged != 0 {
			r = d.Symbol(c.number.At(r))
		} else {
			r += d.Symbol(c.numberSame.At(0)) + 2
		}
	}
	c.returns = byte(n<<4 | r&15)
}

func (l *places) encode(e *arith.Encoder, b *block) {
	c := l.now()
	for i := range b.steps {
		rec := b.records[i*b.size:][:coreSize:coreSize]
		ch := uint32(rec[atFlags]>>4) & 3
		old := c
		if l.used[ch] {
			c = l.all[ch]
		}
		mask := c.changes(rec)
		if ch != l.cur {
			mask |= channelChanged
		}
		e.Symbol(old.changed.At(old.past()), mask)
		s := step(mask&angleChanged)<<(stepAngle-3) | step(mask&sourceChanged)<<(stepSource-5)
		if ch != l.cur {
			e.Symbol(old.channel.At(0), (ch-l.cur-1)&3)
			c = l.enter(ch)
			s |= 1 << stepMoved
		}
		gc := mask >> 4 & 1
		c.encodeReturns(e, mask, rec[atReturns])
		r, n := uint32(c.returns&15), uint32(c.returns>>4)
		single := item.Flag(n == 1)
		m := (2*uint32(item.Map16[n][r]) + gc) % medians
		x, y := binary.LittleEndian.Uint32(rec[atX:]), binary.LittleEndian.Uint32(rec[atY:])
		dx, dy := int32(x-c.x), int32(y-c.y)
		c.x, c.y = x, y
		e.Integer(&c.dx, c.xMed[m].Get(), dx, single)
		c.xMed[m].Add(dx)
		e.Integer(&c.dy, c.yMed[m].Get(), dy, item.Context(c.dx.K, limitY, single))
		c.yMed[m].Add(dy)
		c.newTime = gc
		c.last = [coreSize]byte(rec)
		role := item.Flag(r == 1)<<1 | item.Flag(r >= n)
		b.steps[i] = s | step(item.Level(n, r)<<stepLevel|single<<stepSingle|role<<stepRole|gc<<stepTime|
			l.cur<<stepChannel|(c.dx.K+c.dy.K)/2<<stepK)
	}
}

// changes returns the mask of what is different in rec, but for the channel.
func (c *place) changes(rec []byte) uint32 {
	mask := uint32(returnOther)
	switch (rec[atReturns] - c.last[atReturns]) & 15 {
	case 0:
		mask = returnSame
	case 1:
		mask = returnNext
	case 15:
		mask = returnPrev
	}
	return mask |
		item.Flag(rec[atReturns]>>4 != c.last[atReturns]>>4)<<2 |
		item.Flag(!bytes.Equal(rec[atAngle:atSource], c.last[atAngle:atSource]))<<3 |
		item.Flag(!bytes.Equal(rec[atTime:coreSize], c.last[atTime:coreSize]))<<4 |
		item.Flag(!bytes.Equal(rec[atSource:atTime], c.last[atSource:atTime]))<<5
}

func (c *place) encodeReturns(e *arith.Encoder, mask uint32, returns byte) {
	if mask&countChanged != 0 {
		e.Symbol(c.count.At(uint32(c.returns>>4)), uint32(returns>>4))
	}
	if mask&3 == returnOther {
		was, is := uint32(c.returns&15), uint32(returns&15)
		if mask&timeChanged != 0 {
			e.Symbol(c.number.At(was), is)
		} else {
			e.Symbol(c.numberSame.At(0), (is-was-2)&15)
		}
	}
	c.returns = returns
}

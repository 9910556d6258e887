package arith

import (
	"math"
	"math/bits"
)

// highBits is how many bits of a corrector are modelled; those below are raw.
const highBits = 8

// Integer codes integers as their difference to a prediction. The models of
// the differences' size are kept for each context, those of the differences
// themselves are shared by all contexts.
type Integer struct {
	class Bank
	zero  Bit
	corr  Bank
	bits  uint32
	// K is the class of the latest integer: how many bits its difference has.
	// Other models use it as a context.
	K uint32
}

// NewInteger returns a coder of integers of 8, 16 or 32 bits in a number of
// contexts, for decoding if search is set. Reset must make it ready.
func NewInteger(width, contexts int, search bool) Integer {
	corrector := func(k int) int { return 1 << min(k, highBits) }
	return Integer{
		class: NewBank(contexts, width+1, search),
		corr:  NewBankOf(width+1, corrector, search),
		bits:  uint32(width),
	}
}

// Reset forgets all that was coded.
func (c *Integer) Reset() {
	c.class.Reset()
	c.corr.Reset()
	c.zero.Reset()
	c.K = 0
}

// Integer decodes an integer. Of coders of 8 or 16 bits only the low bits of
// the result count.
func (d *Decoder) Integer(c *Integer, pred int32, ctx uint32) int32 {
	k, value, length := d.symbol(c.class.At(ctx), d.value, d.length)
	c.K = k
	if k == 0 {
		d.value, d.length = value, length
		return pred + int32(d.Bit(&c.zero))
	}
	if k >= 32 {
		d.value, d.length = value, length
		return pred + math.MinInt32
	}
	u, value, length := d.symbol(c.corr.At(k), value, length)
	d.value, d.length = value, length
	if k > highBits {
		u = u<<((k-highBits)&31) | d.Raw(k-highBits)
	}
	// Values below 2^(k-1) stand for the negative differences. Signs can't be
	// foreseen, so that a branch would cost more than this.
	negative := int32(u-1<<((k-1)&31)) >> 31
	return pred + int32(u) + 1 + negative&-(1<<(k&31))
}

// Integer encodes real. Pred and real are both less than 2^bits apart.
func (e *Encoder) Integer(c *Integer, pred, real int32, ctx uint32) {
	d := real - pred
	if c.bits < 32 {
		d = fold(d, c.bits)
	}
	a := uint32(d - 1)
	if d <= 0 {
		a = uint32(-d)
	}
	k := uint32(bits.Len32(a))
	c.K = k
	e.Symbol(c.class.At(ctx), k)
	switch {
	case k == 0:
		e.Bit(&c.zero, uint32(d))
		return
	case k == 32:
		return
	}
	u := uint32(d - 1)
	if d < 0 {
		u = uint32(d) + 1<<k - 1
	}
	if k <= highBits {
		e.Symbol(c.corr.At(k), u)
		return
	}
	low := k - highBits
	e.Symbol(c.corr.At(k), u>>low)
	e.Raw(low, u&(1<<low-1))
}

// fold brings a difference into the interval of width bits around zero.
func fold(d int32, width uint32) int32 {
	half := int32(1) << (width - 1)
	switch {
	case d < -half:
		return d + 2*half
	case d >= half:
		return d - 2*half
	}
	return d
}

package item

import "quoin/extract/las/laz/internal/arith"

// The bits of a colour's mask: a changed byte of each channel, and that not all
// channels are equal.
const (
	redLow = 1 << iota
	redHigh
	greenLow
	greenHigh
	blueLow
	blueHigh
	notGrey
)

// RGB is a colour of 16 bits a channel.
type RGB [3]uint16

// Colours codes colours by the changes of their bytes, green and blue beside
// the change of red.
type Colours struct {
	used arith.Bank
	diff arith.Bank
}

// NewColours returns a coder of colours.
func NewColours(search bool) Colours {
	return Colours{used: arith.NewBank(1, 128, search), diff: arith.NewBank(6, 256, search)}
}

// Reset begins a chunk.
func (c *Colours) Reset() {
	c.used.Reset()
	c.diff.Reset()
}

// clamp returns v brought into a byte's range.
func clamp(v int32) int32 { return min(max(v, 0), 255) }

// Decode returns the colour that comes after last.
func (c *Colours) Decode(d *arith.Decoder, last RGB) RGB {
	mask := d.Symbol(c.used.At(0))
	low := func(v uint16) int32 { return int32(v & 255) }
	high := func(v uint16) int32 { return int32(v >> 8) }
	rl, rh := low(last[0]), high(last[0])
	if mask&redLow != 0 {
		rl = (rl + int32(d.Symbol(c.diff.At(0)))) & 255
	}
	if mask&redHigh != 0 {
		rh = (rh + int32(d.Symbol(c.diff.At(1)))) & 255
	}
	red := uint16(rh<<8 | rl)
	if mask&notGrey == 0 {
		return RGB{red, red, red}
	}
	gl, bl := low(last[1]), low(last[2])
	change := rl - low(last[0])
	if mask&greenLow != 0 {
		gl = (int32(d.Symbol(c.diff.At(2))) + clamp(change+gl)) & 255
	}
	if mask&blueLow != 0 {
		change = (change + gl - low(last[1])) / 2
		bl = (int32(d.Symbol(c.diff.At(4))) + clamp(change+bl)) & 255
	}
	gh, bh := high(last[1]), high(last[2])
	change = rh - high(last[0])
	if mask&greenHigh != 0 {
		gh = (int32(d.Symbol(c.diff.At(3))) + clamp(change+gh)) & 255
	}
	if mask&blueHigh != 0 {
		change = (change + gh - high(last[1])) / 2
		bh = (int32(d.Symbol(c.diff.At(5))) + clamp(change+bh)) & 255
	}
	return RGB{red, uint16(gh<<8 | gl), uint16(bh<<8 | bl)}
}

// Encode writes the colour v that comes after last, and reports whether the
// stream is needed to tell it.
func (c *Colours) Encode(e *arith.Encoder, last, v RGB) bool {
	mask := changes(last, v)
	e.Symbol(c.used.At(0), mask)
	byteOf := func(bit, i uint32, shift uint, change int32) int32 {
		was, is := int32(last[i]>>shift&255), int32(v[i]>>shift&255)
		if mask&(1<<bit) != 0 {
			e.Symbol(c.diff.At(bit), uint32(is-clamp(change+was))&255)
		}
		return is - was
	}
	lowChange := byteOf(0, 0, 0, 0)
	highChange := byteOf(1, 0, 8, 0)
	if mask&notGrey != 0 {
		green := byteOf(2, 1, 0, lowChange)
		byteOf(4, 2, 0, (lowChange+green)/2)
		green = byteOf(3, 1, 8, highChange)
		byteOf(5, 2, 8, (highChange+green)/2)
	}
	return mask != 0
}

func changes(last, v RGB) uint32 {
	mask := uint32(0)
	for i := range v {
		x := last[i] ^ v[i]
		mask |= Flag(x&0xff != 0) << (2 * i)
		mask |= Flag(x>>8 != 0) << (2*i + 1)
	}
	return mask | Flag(v[1] != v[0] || v[2] != v[0])<<6
}

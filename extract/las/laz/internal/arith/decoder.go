package arith

import (
	"encoding/binary"
	"math/bits"
)

// Pad is how many bytes must follow the last one that a Decoder may be asked
// to look at, whatever they hold.
const Pad = 4

// Decoder reads one arithmetic stream.
//
// It doesn't check for the end of the stream at each symbol: whoever drives it
// asks Bad now and then, and keeps the buffer long enough for what is decoded
// in between (MaxSymbol, MaxInteger, Pad).
type Decoder struct {
	buf    []byte
	pos    int
	value  uint32
	length uint32
	// end is where the stream's bytes end, and limit the same, or -1 once a
	// value was met that no encoder writes.
	end, limit int
}

const (
	// MaxSymbol is the most bytes that one symbol or bit takes.
	MaxSymbol = 2
	// MaxInteger is the most bytes that one integer takes: class, high bits,
	// and two steps of raw bits.
	MaxInteger = 2*MaxSymbol + 3 + 3
	// StartBytes is what a stream begins with, and the least it has.
	StartBytes = 4
)

// Start begins with the stream at buf[pos:end], which must hold StartBytes and
// what is said of Decoder. It reports whether the stream can be one.
func (d *Decoder) Start(buf []byte, pos, end int) bool {
	d.buf, d.end, d.limit, d.length = buf, end, end, maxLength
	d.value = binary.BigEndian.Uint32(buf[pos:])
	d.pos = pos + StartBytes
	return d.value < d.length
}

// Pos returns the place in the buffer of the next byte to be read.
func (d *Decoder) Pos() int { return d.pos }

// Bad reports whether more was read than there is, or what can't be.
func (d *Decoder) Bad() bool { return d.pos > d.limit }

// Fault returns what is wrong if the decoder is Bad. Where bytes have ended, what
// comes behind them means nothing, so that it makes no stream corrupt.
func (d *Decoder) Fault() error {
	if d.pos > d.end {
		return ErrShort
	}
	return ErrCorrupt
}

// Fail makes the stream corrupt.
func (d *Decoder) Fail() { d.limit = -1 }

// Move makes buf the buffer, in which the next byte to be read is the first
// and end the end of the stream.
func (d *Decoder) Move(buf []byte, end int) {
	d.buf, d.pos, d.end, d.limit = buf, 0, end, end
}

// renorm returns the value and the interval's length, scaled up to at least
// minLength. It takes two bytes at the most, which is all that a symbol or a
// bit can need: no interval is shorter than 2^9. One load takes what steps of a
// byte each would, and no branch waits for how many they are.
func (d *Decoder) renorm(value, length uint32) (uint32, uint32) {
	k := uint32((uint64(length)-minLength)>>63+(uint64(length)-minLength>>8)>>63) * 8
	w := uint64(value)<<32 | uint64(binary.BigEndian.Uint32(d.buf[d.pos:]))
	d.pos += int(k >> 3)
	return uint32(w << (k & 31) >> 32), length << (k & 31)
}

// renorm3 is renorm for raw bits, which can take three bytes.
func (d *Decoder) renorm3(value, length uint32) {
	k := uint32(bits.LeadingZeros32(length)) & 24
	w := uint64(value)<<32 | uint64(binary.BigEndian.Uint32(d.buf[d.pos:]))
	d.value = uint32(w << k >> 32)
	d.length = length << k
	d.pos += int(k >> 3)
}

// Symbol decodes a symbol.
func (d *Decoder) Symbol(m *Symbols) (s uint32) {
	s, d.value, d.length = d.symbol(m, d.value, d.length)
	return s
}

// symbol decodes a symbol. The state goes in and out by value, which is faster
// than by way of memory.
func (d *Decoder) symbol(m *Symbols, value, length uint32) (symbol, newValue, newLength uint32) {
	r := length >> symbolBits
	s, lo, hi := m.top, m.topLow*r, m.topHigh*r
	if s == m.last {
		hi = length
	}
	// One comparison of unsigned numbers tells whether lo <= value < hi.
	if !m.likely || value-lo >= hi-lo {
		v := value / r
		s = uint32(m.table[v>>(m.shift&31)])
		for uint32(m.dist[s+1]) <= v {
			s++
		}
		lo, hi = uint32(m.dist[s])*r, length
		if s != m.last {
			hi = uint32(m.dist[s+1]) * r
		}
	}
	value, length = d.renorm(value-lo, hi-lo)
	m.count[s]++
	m.until--
	if m.until == 0 {
		m.rebuild()
	}
	return s, value, length
}

// Bit decodes a bit.
func (d *Decoder) Bit(m *Bit) uint32 {
	x := m.zero * (d.length >> bitBits)
	b := uint32(0)
	if d.value < x {
		d.value, d.length = d.renorm(d.value, x)
	} else {
		b = 1
		d.value, d.length = d.renorm(d.value-x, d.length-x)
	}
	m.update(b)
	return b
}

// Raw decodes n bits, 1 <= n <= 32.
func (d *Decoder) Raw(n uint32) uint32 {
	if n > rawBits {
		low := d.short(16)
		return d.short(n-16)<<16 | low
	}
	return d.short(n)
}

func (d *Decoder) short(n uint32) uint32 {
	r := d.length >> (n & 31)
	v := d.value / r
	d.renorm3(d.value-v*r, r)
	if v>>(n&31) != 0 {
		d.Fail()
		return 0
	}
	return v
}

// Uint64 decodes 64 raw bits, low half first.
func (d *Decoder) Uint64() uint64 {
	low := d.Raw(32)
	return uint64(d.Raw(32))<<32 | uint64(low)
}

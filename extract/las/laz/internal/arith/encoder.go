package arith

// Encoder writes one arithmetic stream into memory.
type Encoder struct {
	out    []byte
	base   uint32
	length uint32
}

// Start begins a stream that is appended to out.
func (e *Encoder) Start(out []byte) {
	e.out, e.base, e.length = out, 0, maxLength
}

// Done ends the stream and returns the buffer with it. It appends as many
// bytes as a decoder reads ahead.
func (e *Encoder) Done() []byte {
	tail := 3
	if e.length > 2*minLength {
		e.put(minLength, minLength>>1)
	} else {
		e.put(minLength>>1, minLength>>9)
		tail = 2
	}
	return append(e.out, 0, 0, 0)[:len(e.out)+tail]
}

// put takes the part of the interval that begins at lo and has the given length.
func (e *Encoder) put(lo, length uint32) {
	base := e.base + lo
	if base < lo {
		e.carry()
	}
	for length < minLength {
		e.out = append(e.out, byte(base>>24))
		base <<= 8
		length <<= 8
	}
	e.base, e.length = base, length
}

// carry adds one to the number that the bytes written are. It stays within the
// stream, since the whole of it is less than one.
func (e *Encoder) carry() {
	i := len(e.out) - 1
	for ; e.out[i] == 0xff; i-- {
		e.out[i] = 0
	}
	e.out[i]++
}

// Symbol encodes symbol s of m.
func (e *Encoder) Symbol(m *Symbols, s uint32) {
	r := e.length >> symbolBits
	lo := uint32(m.dist[s]) * r
	hi := e.length
	if s != m.last {
		hi = uint32(m.dist[s+1]) * r
	}
	e.put(lo, hi-lo)
	m.update(s)
}

// Bit encodes bit b, 0 or 1.
func (e *Encoder) Bit(m *Bit, b uint32) {
	x := m.zero * (e.length >> bitBits)
	if b == 0 {
		e.put(0, x)
	} else {
		e.put(x, e.length-x)
	}
	m.update(b)
}

// Raw encodes the n low bits of v, which has no others; 1 <= n <= 32.
func (e *Encoder) Raw(n, v uint32) {
	if n > rawBits {
		e.short(16, v&0xffff)
		e.short(n-16, v>>16)
		return
	}
	e.short(n, v)
}

func (e *Encoder) short(n, v uint32) {
	r := e.length >> (n & 31)
	e.put(v*r, r)
}

// Uint64 encodes 64 raw bits, low half first.
func (e *Encoder) Uint64(v uint64) {
	e.Raw(32, uint32(v))
	e.Raw(32, uint32(v>>32))
}

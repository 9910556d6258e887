package arith

import (
	"bytes"
	"encoding/hex"
	"hash/fnv"
	"strings"
	"testing"
)

// symbols returns one model of n symbols, ready for both directions.
func symbols(n int) *Symbols {
	m := newSymbols(n, true)
	m.Reset()
	return m
}

func bit() *Bit {
	m := &Bit{}
	m.Reset()
	return m
}

func integer(width, contexts int) *Integer {
	c := NewInteger(width, contexts, true)
	c.Reset()
	return &c
}

func encoded(code func(*Encoder)) []byte {
	var e Encoder
	e.Start(nil)
	code(&e)
	return e.Done()
}

func decoder(t *testing.T, stream []byte) *Decoder {
	t.Helper()
	d := &Decoder{}
	if !d.Start(append(bytes.Clone(stream), make([]byte, Pad)...), 0, len(stream)) {
		t.Fatal("the stream can't be one")
	}
	return d
}

// A coded value is one step of a stream, in both directions.
type step struct {
	encode func(*Encoder)
	decode func(*Decoder) uint64
	want   uint64
}

type models struct {
	bit *Bit
	sym *Symbols
	ic  *Integer
}

func bitStep(of func() *Bit, v uint32) step {
	return step{
		func(e *Encoder) { e.Bit(of(), v) },
		func(d *Decoder) uint64 { return uint64(d.Bit(of())) }, uint64(v),
	}
}

func rawStep(n, v uint32) step {
	return step{
		func(e *Encoder) { e.Raw(n, v) },
		func(d *Decoder) uint64 { return uint64(d.Raw(n)) }, uint64(v),
	}
}

// TestPublishedStreams codes the worked examples of the format's description,
// which were made with the reference codec, in both directions.
func TestPublishedStreams(t *testing.T) {
	var m models
	theBit, theSym, theInt := func() *Bit { return m.bit }, func() *Symbols { return m.sym }, func() *Integer { return m.ic }
	bitsOf := func(v ...uint32) (s []step) {
		for _, b := range v {
			s = append(s, bitStep(theBit, b))
		}
		return s
	}
	syms := func(v ...uint32) (s []step) {
		for _, x := range v {
			s = append(s, step{
				func(e *Encoder) { e.Symbol(theSym(), x) },
				func(d *Decoder) uint64 { return uint64(d.Symbol(theSym())) }, uint64(x),
			})
		}
		return s
	}
	ints := func(mask uint32, v ...[3]int32) (s []step) {
		for _, x := range v {
			s = append(s, step{
				func(e *Encoder) { e.Integer(theInt(), x[0], x[1], uint32(x[2])) },
				func(d *Decoder) uint64 { return uint64(uint32(d.Integer(theInt(), x[0], uint32(x[2]))) & mask) },
				uint64(uint32(x[1]) & mask),
			})
		}
		return s
	}
	raws := func(n uint32, v ...uint32) (s []step) {
		for _, x := range v {
			s = append(s, rawStep(n, x))
		}
		return s
	}
	ones := func(n int) []uint32 { return bytes32(n, 1) }
	const all = 1<<32 - 1
	for _, c := range []struct {
		name  string
		m     models
		steps []step
		want  string
	}{
		{"nothing", models{}, nil, "01 00 00 00"},
		{"bits", models{bit: bit()}, bitsOf(1, 0, 1, 1, 0, 1, 0, 0), "b1 c7 00 00 00"},
		{"four symbols", models{sym: symbols(4)}, syms(0, 3, 1, 2, 0, 0, 0, 3, 3, 1), "36 06 81 00 00 00"},
		{"raw 5", models{}, raws(5, 19), "98 00 00 00"},
		{"raw 23", models{}, raws(23, 0x5a1234), "12 34 a2 4b 00 00"},
		{"raw 32", models{}, raws(32, 0x01020304), "03 03 fd fd ff 00 00 00"},
		{"raw 64", models{}, []step{{
			func(e *Encoder) { e.Uint64(0x0102030405060708) },
			(*Decoder).Uint64, 0x0102030405060708,
		}}, "07 07 fd fd fd fd fd fd ff 00 00 00"},
		{"raw mixed", models{}, []step{rawStep(1, 1), rawStep(8, 0xab), rawStep(16, 0xbeef)}, "d5 df 76 16 00 00 00"},
		{
			"raw and bits",
			models{bit: bit()},
			append(raws(8, bytes32(6, 0xff)...), bitsOf(ones(40)...)...),
			"ff ff fe ff ff ff ff 44 00 00",
		},
		{
			"carry",
			models{},
			raws(12, 2006, 4095, 4094, 4095, 4095, 4095),
			"7d 6f f8 19 f0 00 0f ff ff 01 00 00 00",
		},
		{
			"32 bits",
			models{ic: integer(32, 1)},
			ints(all,
				[3]int32{0, 0}, [3]int32{0, 1}, [3]int32{0, -1}, [3]int32{0, 2}, [3]int32{0, 5}, [3]int32{0, -5}, [3]int32{0, 100},
				[3]int32{0, -1000}, [3]int32{0, 70000}, [3]int32{0, 2147483647}, [3]int32{0, -2147483648}),
			"00 0f 79 1c 6e c1 5b aa 27 d5 d7 96 ac d1 4c a2 cc 00 00 00",
		},
		{
			"16 bits",
			models{ic: integer(16, 4)},
			ints(0xffff,
				[3]int32{100, 200, 0}, [3]int32{200, 65535, 3}, [3]int32{65535, 0, 3}, [3]int32{0, 32768, 1}, [3]int32{32768, 0, 1}),
			"75 1c 54 9a c7 45 22 16 0e 00 00 00",
		},
		{
			"8 bits",
			models{ic: integer(8, 2)},
			ints(0xff, [3]int32{250, 3, 0}, [3]int32{3, 250, 1}, [3]int32{7, 7, 1}),
			"80 db b4 00 00 00",
		},
		{
			"chunk table, fixed",
			models{ic: integer(32, 2)},
			ints(all, [3]int32{0, 1000, 1}, [3]int32{1000, 1100, 1}, [3]int32{1100, 990, 1}), "55 23 54 b0 8c 8e 00 00",
		},
		{
			"chunk table, variable",
			models{ic: integer(32, 2)},
			ints(all, [3]int32{0, 50, 0}, [3]int32{0, 1000, 1},
				[3]int32{50, 60, 0}, [3]int32{1000, 1100, 1}, [3]int32{60, 7, 0}, [3]int32{1100, 200, 1}),
			"34 84 60 0f 0d c4 5f 60 59 0e 00 00 00",
		},
	} {
		t.Run(c.name, func(t *testing.T) {
			want, err := hex.DecodeString(strings.ReplaceAll(c.want, " ", ""))
			if err != nil {
				t.Fatal(err)
			}
			m = c.m
			if got := encoded(func(e *Encoder) {
				for _, s := range c.steps {
					s.encode(e)
				}
			}); !bytes.Equal(got, want) {
				t.Errorf("encoded % x, want % x", got, want)
			}
			m.reset()
			d := decoder(t, want)
			for i, s := range c.steps {
				if got := s.decode(d); got != s.want {
					t.Fatalf("step %d: decoded %d, want %d", i, got, s.want)
				}
			}
			if d.Pos() != len(want) {
				t.Errorf("decoder read %d bytes, want all %d", d.Pos(), len(want))
			}
			if d.Bad() {
				t.Error("decoder calls the stream corrupt")
			}
		})
	}
}

func (m models) reset() {
	if m.bit != nil {
		m.bit.Reset()
	}
	if m.sym != nil {
		m.sym.Reset()
	}
	if m.ic != nil {
		m.ic.Reset()
	}
}

func bytes32(n int, v uint32) []uint32 {
	s := make([]uint32, n)
	for i := range s {
		s[i] = v
	}
	return s
}

// TestLongRun codes the published run of 1000 of 256 symbols.
func TestLongRun(t *testing.T) {
	m := symbols(256)
	at := func(i int) uint32 { return uint32(i*i+7*i) & 255 }
	got := encoded(func(e *Encoder) {
		for i := range 1000 {
			e.Symbol(m, at(i))
		}
	})
	h := fnv.New32a()
	h.Write(got)
	if len(got) != 934 || h.Sum32() != 0xb944b732 {
		t.Errorf("got %d bytes with hash %08x, want 934 with b944b732", len(got), h.Sum32())
	}
	if m.cycle != 316 || m.until != 66 || m.total != 1006 || m.dist[128] != 16383 {
		t.Errorf("model ends with cycle %d until %d total %d dist[128] %d, want 316 66 1006 16383",
			m.cycle, m.until, m.total, m.dist[128])
	}
	m.Reset()
	d := decoder(t, got)
	for i := range 1000 {
		if s := d.Symbol(m); s != at(i) {
			t.Fatalf("symbol %d: got %d, want %d", i, s, at(i))
		}
	}
}

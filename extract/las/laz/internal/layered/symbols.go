package layered

import "quoin/extract/las/laz/internal/arith"

// A symbols layer codes a byte by models that depend on the byte before.
type symbols struct {
	contexts[symbol]
	kind kind
}

// A kind tells which byte a layer of symbols codes.
type kind int

const (
	kindClass kind = iota
	kindFlags
	kindUser
)

type symbol struct {
	models arith.Bank
	last   uint32
}

func newSymbols(k kind, size int, search bool) *symbols {
	return &symbols{newContexts(func() *symbol { return &symbol{models: arith.NewBank(64, size, search)} }), k}
}

func newClasses(search bool) *symbols { return newSymbols(kindClass, 256, search) }
func newFlags(search bool) *symbols   { return newSymbols(kindFlags, 64, search) }
func newUsers(search bool) *symbols   { return newSymbols(kindUser, 256, search) }

// value returns the symbol of a record. That of flags has the flags in the low
// four bits and scan direction and edge of flight line in the two above; the
// channel between them belongs to another layer.
func (k kind) value(rec []byte) uint32 {
	switch k {
	case kindClass:
		return uint32(rec[atClass])
	case kindUser:
		return uint32(rec[atUser])
	}
	f := uint32(rec[atFlags])
	return f&15 | f>>2&0x30
}

func (l *symbols) reset(first []byte) {
	c := l.contexts.reset(first)
	c.models.Reset()
	c.last = l.kind.value(first)
}

func (l *symbols) silent(records []byte, size int) bool {
	if l.kind != kindFlags {
		return alike(records, size, map[kind]int{kindClass: atClass, kindUser: atUser}[l.kind], 1)
	}
	first := l.kind.value(records)
	for rest := records[size:]; len(rest) >= size; rest = rest[size:] {
		if l.kind.value(rest) != first {
			return false
		}
	}
	return true
}

func (l *symbols) enter(ch uint32) *symbol {
	c, seed := l.contexts.enter(ch)
	if seed != nil {
		c.models.Reset()
		c.last = seed.last
	}
	return c
}

// model returns the number of the model for the next symbol.
func (c *symbol) model(k kind, s step) uint32 {
	switch k {
	case kindClass:
		only := uint32(0)
		if s.role() == 3 {
			only = 1
		}
		return c.last&31<<1 | only
	case kindUser:
		return c.last >> 2
	}
	return c.last
}

func (l *symbols) decode(d *arith.Decoder, b *block) int {
	c, kind := l.now(), l.kind
	for i, s := range b.steps {
		if s.channel() != l.cur {
			c = l.enter(s.channel())
		}
		v := d.Symbol(c.models.At(c.model(kind, s)))
		if d.Bad() {
			return i
		}
		c.last = v
		rec := b.records[i*b.size:][:coreSize]
		switch kind {
		case kindClass:
			rec[atClass] = byte(v)
		case kindUser:
			rec[atUser] = byte(v)
		case kindFlags:
			rec[atFlags] = rec[atFlags]&0x30 | byte(v&15|v&0x30<<2)
		}
	}
	return len(b.steps)
}

func (l *symbols) encode(e *arith.Encoder, b *block) {
	c := l.now()
	for i, s := range b.steps {
		if s.channel() != l.cur {
			c = l.enter(s.channel())
		}
		v := l.kind.value(b.records[i*b.size:])
		e.Symbol(c.models.At(c.model(l.kind, s)), v)
		c.last = v
	}
}

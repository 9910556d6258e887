package arith

import "math/bits"

const (
	// symbolTotal is the count at which the counts of a symbol model are halved.
	symbolTotal = 1 << symbolBits
	// maxTableBits bounds the size of the search table of a decoder.
	maxTableBits = 9
)

// Symbols is an adaptive model of n symbols, 2 <= n <= 2048.
//
// The model is changed after each coded symbol: counts at once, cumulative
// counts in cycles that grow to 8(n+6) symbols.
type Symbols struct {
	// table has, for each bucket of cumulative counts, the symbol that holds
	// the bucket's first value; it is nil in a model for encoding.
	table []uint16
	// dist has n+1 cumulative counts in units of 2^-15; the last one is a
	// sentinel above any value.
	dist  []uint16
	count []uint16
	shift uint32
	until uint32
	last  uint32
	total uint32
	cycle uint32
	// likely is set where one symbol, top, is so likely that it is tried
	// before the search; its cumulative counts go from topLow to topHigh.
	likely  bool
	top     uint32
	topLow  uint32
	topHigh uint32
}

// newSymbols returns a model that Reset must make ready. Search says whether
// it is for decoding.
func newSymbols(n int, search bool) *Symbols {
	m := &Symbols{last: uint32(n - 1)}
	width := 0
	if search {
		// Two to eight buckets a symbol: with more of them decoding is no faster, and their
		// filling costs more than it saves in models that are short-lived.
		b := min(bits.Len(uint(n-1))+2, maxTableBits)
		m.shift = uint32(symbolBits - b)
		width = 1<<b + 2
	}
	store := make([]uint16, n+1+n+width)
	m.dist, store = store[:n+1:n+1], store[n+1:]
	m.count, store = store[:n:n], store[n:]
	if search {
		m.table = store
	}
	return m
}

// Reset makes all symbols equally likely.
func (m *Symbols) Reset() {
	n := uint32(len(m.count))
	for i := range m.count {
		m.count[i] = 1
	}
	m.total, m.cycle = 0, n
	m.rebuild()
	m.cycle = (n + 6) >> 1
	m.until = m.cycle
}

// rebuild sums the counts up anew.
func (m *Symbols) rebuild() {
	m.total += m.cycle
	if m.total > symbolTotal {
		m.total = 0
		for i, c := range m.count {
			c = (c + 1) >> 1
			m.count[i] = c
			m.total += uint32(c)
		}
	}
	scale := (1 << 31) / m.total
	sum := uint32(0)
	dist := m.dist[:len(m.count)]
	for i, c := range m.count {
		dist[i] = uint16((scale * sum) >> 16)
		sum += uint32(c)
	}
	m.dist[len(m.count)] = 0xffff
	if m.table != nil {
		m.index()
		m.findTop()
	}
	n := uint32(len(m.count))
	m.cycle = min(5*m.cycle>>2, (n+6)<<3)
	m.until = m.cycle
}

// findTop finds out whether one symbol is likely.
func (m *Symbols) findTop() {
	top, most := 0, uint16(0)
	for i, c := range m.count {
		if c > most {
			top, most = i, c
		}
	}
	m.likely = uint32(most) > m.total/2
	m.top = uint32(top)
	m.topLow, m.topHigh = uint32(m.dist[top]), uint32(m.dist[top+1])
}

// index fills the search table: table[t] is the largest symbol whose
// cumulative count is at most t<<shift.
func (m *Symbols) index() {
	t := 0
	half := uint32(1)<<m.shift - 1
	for s, d := range m.dist[1:len(m.count)] {
		// The first bucket that starts at or above d belongs to symbol s+1.
		next := int((uint32(d) + half) >> m.shift)
		if t < next {
			fill(m.table[t:next], uint16(s))
			t = next
		}
	}
	fill(m.table[t:], uint16(m.last))
}

// fill sets all of t to v.
func fill(t []uint16, v uint16) {
	for i := range t {
		t[i] = v
	}
}

// update counts symbol s.
func (m *Symbols) update(s uint32) {
	m.count[s]++
	m.until--
	if m.until == 0 {
		m.rebuild()
	}
}

// A Bank is a row of symbol models that come into being when they are first
// used, and whose memory serves one chunk after another.
type Bank struct {
	active []*Symbols
	owned  []*Symbols
	sizeOf func(i int) int
	search bool
}

// NewBank returns n models of size symbols each, for decoding if search is set.
func NewBank(n, size int, search bool) Bank {
	return NewBankOf(n, func(int) int { return size }, search)
}

// NewBankOf returns n models whose sizes sizeOf tells.
func NewBankOf(n int, sizeOf func(int) int, search bool) Bank {
	return Bank{active: make([]*Symbols, n), owned: make([]*Symbols, n), sizeOf: sizeOf, search: search}
}

// Reset makes all models new.
func (b *Bank) Reset() { clear(b.active) }

// At returns model i, 0 <= i < n.
func (b *Bank) At(i uint32) *Symbols {
	if m := b.active[i]; m != nil {
		return m
	}
	return b.open(i)
}

func (b *Bank) open(i uint32) *Symbols {
	m := b.owned[i]
	if m == nil {
		m = newSymbols(b.sizeOf(int(i)), b.search)
		b.owned[i] = m
	}
	m.Reset()
	b.active[i] = m
	return m
}

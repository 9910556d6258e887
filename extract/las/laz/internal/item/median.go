package item

// Median is a streaming estimate of the median of what was added lately: the
// middle of five values, of which the greatest and the least are dropped in
// turn. Reset must make it ready.
//
// While it is the least one's turn, values are kept complemented and in reverse
// order, so that what is to be done is always the same, without a branch: those
// can't be foreseen.
type Median struct {
	v    [5]int32
	flip int32 // -1 if values are complemented, else 0
}

// Reset forgets all values.
func (m *Median) Reset() { *m = Median{} }

// Get returns the estimate; 0 if nothing was added.
func (m *Median) Get() int32 { return m.v[2] ^ m.flip }

// Add takes in a value.
func (m *Median) Add(x int32) {
	x ^= m.flip
	v0, v1, v2, v3 := m.v[0], m.v[1], m.v[2], m.v[3]
	// above is -1 if x belongs to the upper half, else 0. Below, the greatest
	// value is dropped and x put in its place among the lower ones; above, x
	// takes the greatest one's place, and it's the least one's turn.
	above := int32((int64(v2) - 1 - int64(x)) >> 63)
	choose := func(below, over int32) int32 { return below ^ (below^over)&above }
	m.v[0] = choose(min(x, v0), ^max(x, v3))
	m.v[1] = choose(max(v0, min(x, v1)), ^min(x, v3))
	m.v[2] = choose(max(x, v1), ^v2)
	m.v[3] = choose(v2, ^v1)
	m.v[4] = choose(v3, ^v0)
	m.flip ^= above
}

// Median3 returns the median of three values.
func Median3(a, b, c int32) int32 { return max(min(a, b), min(max(a, b), c)) }

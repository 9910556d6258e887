package arith

const (
	// bitTotal is the count at which the counts of a bit model are halved.
	bitTotal = 1 << bitBits
	// maxBitCycle is the most bits between two changes of the probability.
	maxBitCycle = 64
)

// Bit is an adaptive model of one bit. Reset must make it ready.
type Bit struct {
	zero  uint32 // probability of 0 in units of 2^-13
	until uint32
	count uint32
	zeros uint32
	cycle uint32
}

// Reset makes both values equally likely.
func (m *Bit) Reset() {
	*m = Bit{zero: bitTotal / 2, until: 4, count: 2, zeros: 1, cycle: 4}
}

// update counts one bit.
func (m *Bit) update(b uint32) {
	m.zeros += 1 - b
	m.until--
	if m.until == 0 {
		m.rebuild()
	}
}

func (m *Bit) rebuild() {
	m.count += m.cycle
	if m.count > bitTotal {
		m.count = (m.count + 1) >> 1
		m.zeros = (m.zeros + 1) >> 1
		if m.zeros == m.count {
			m.count++
		}
	}
	m.zero = (m.zeros * ((1 << 31) / m.count)) >> (31 - bitBits)
	m.cycle = min(5*m.cycle>>2, maxBitCycle)
	m.until = m.cycle
}

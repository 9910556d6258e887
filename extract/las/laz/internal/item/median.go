package item

// Median is a streaming estimate of the median of what was added lately. A
// zero Median is ready but for Reset.
type Median struct {
	v    [5]int32
	high bool
}

// Reset forgets all values.
func (m *Median) Reset() { *m = Median{high: true} }

// Get returns the estimate; 0 if nothing was added.
func (m *Median) Get() int32 { return m.v[2] }

// Add takes in a value, and drops the greatest and the least in turn.
func (m *Median) Add(x int32) {
	v := &m.v
	if m.high {
		if x >= v[2] {
			m.high = false
			if x < v[3] {
				v[4], v[3] = v[3], x
			} else {
				v[4] = x
			}
			return
		}
		v[4], v[3] = v[3], v[2]
		switch {
		case x < v[0]:
			v[2], v[1], v[0] = v[1], v[0], x
		case x < v[1]:
			v[2], v[1] = v[1], x
		default:
			v[2] = x
		}
		return
	}
	if x <= v[2] {
		m.high = true
		if x > v[1] {
			v[0], v[1] = v[1], x
		} else {
			v[0] = x
		}
		return
	}
	v[0], v[1] = v[1], v[2]
	switch {
	case x > v[4]:
		v[2], v[3], v[4] = v[3], v[4], x
	case x > v[3]:
		v[2], v[3] = v[3], x
	default:
		v[2] = x
	}
}

// Median3 returns the median of three values.
func Median3(a, b, c int32) int32 { return max(min(a, b), min(max(a, b), c)) }

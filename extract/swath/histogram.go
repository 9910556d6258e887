package swath

import "math"

// A histogram counts values in bins of one quantum: bin i holds the values
// that round to i quanta. Being integers, counts merge in any order.
type histogram struct {
	quantum float64
	counts  []uint32
}

// newHistogram returns an empty histogram for values from 0 to limit; what is
// larger goes into the last bin.
func newHistogram(quantum, limit float64) *histogram {
	return &histogram{quantum, make([]uint32, int(math.Ceil(limit/quantum))+1)}
}

func (h *histogram) add(v float64) { h.addTimes(v, 1) }

func (h *histogram) addTimes(v float64, times int) {
	bin := math.Round(v / h.quantum)
	switch {
	case bin >= float64(len(h.counts)):
		bin = float64(len(h.counts) - 1)
	case !(bin > 0):
		bin = 0
	}
	h.counts[int(bin)] += uint32(times)
}

func (h *histogram) merge(o *histogram) {
	for i, n := range o.counts {
		h.counts[i] += n
	}
}

func (h *histogram) total() int {
	var n int
	for _, c := range h.counts {
		n += int(c)
	}
	return n
}

// last returns the number of values at the limit or above.
func (h *histogram) last() int { return int(h.counts[len(h.counts)-1]) }

// quantile returns the value below which the given share of all values lies,
// interpolated within its bin; 0 when the histogram is empty.
func (h *histogram) quantile(share float64) float64 {
	target := share * float64(h.total())
	var below float64
	for i, c := range h.counts {
		if c > 0 && below+float64(c) >= target {
			return max((float64(i)-0.5+(target-below)/float64(c))*h.quantum, 0)
		}
		below += float64(c)
	}
	return 0
}

// lowestPeak returns the value that the lowest considerable group of values
// gathers about, and the number of values near it: the first place with most
// values within a factor of 1.2, which has at least the given share of the
// most that any place has; then the median of what is within a factor of 1.6.
//
// It tells smooth hard surfaces from rough ones: a standard deviation from a
// dozen degrees of freedom scatters by 20 %, grass and foliage lie above.
func (h *histogram) lowestPeak(share float64) (value float64, count int) {
	const (
		step   = 1.04
		narrow = 1.2
		wide   = 1.6
	)
	counts := h.counts[:len(h.counts)-1] // not what is beyond the limit
	sums := make([]int, len(counts)+1)
	for i, c := range counts {
		sums[i+1] = sums[i] + int(c)
	}
	within := func(s, factor float64) (lo, hi int) {
		lo = max(int(math.Round(s/factor/h.quantum)), 0)
		if lo == 1 {
			lo = 0 // what is below one quantum is near to it
		}
		return lo, min(int(math.Round(s*factor/h.quantum))+1, len(counts))
	}
	var places []float64
	var near []int
	most := 0
	for s := h.quantum; s < h.quantum*float64(len(counts))/narrow; s *= step {
		lo, hi := within(s, narrow)
		places, near = append(places, s), append(near, sums[hi]-sums[lo])
		most = max(most, sums[hi]-sums[lo])
	}
	if most == 0 {
		return 0, 0
	}
	const reach = 6 // places on either side that a peak tops: a quarter up or down
	for i, n := range near {
		if float64(n) < share*float64(most) || n < maxOf(near[max(i-reach, 0):min(i+reach+1, len(near))]) {
			continue
		}
		lo, hi := within(places[i], wide)
		part := histogram{h.quantum, make([]uint32, hi)}
		copy(part.counts[lo:], counts[lo:hi])
		return part.quantile(0.5), part.total()
	}
	return 0, 0
}

func maxOf(values []int) int {
	m := values[0]
	for _, v := range values {
		m = max(m, v)
	}
	return m
}

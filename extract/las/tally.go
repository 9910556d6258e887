package las

import (
	"encoding/binary"
	"math"
)

// A tally gathers from raw records what a header says of all points.
type tally struct {
	length   int
	mask     byte // of the return number in byte 14
	count    uint64
	returns  [16]uint64
	min, max [3]int32
}

func newTally(layout Layout, length int) tally {
	t := tally{length: length, mask: layout.maxReturn()}
	for axis := range 3 {
		t.min[axis], t.max[axis] = math.MaxInt32, math.MinInt32
	}
	return t
}

func (t *tally) add(records []byte) {
	for i := 0; i+t.length <= len(records); i += t.length {
		rec := records[i : i+20]
		for axis := range 3 {
			v := int32(binary.LittleEndian.Uint32(rec[4*axis:]))
			t.min[axis], t.max[axis] = min(t.min[axis], v), max(t.max[axis], v)
		}
		t.returns[rec[14]&t.mask&15]++
		t.count++
	}
}

// into writes counts and the box, in CRS units, into a header; the box of no
// points is zero, as the specification wants it.
func (t *tally) into(h *Header) {
	h.Count = t.count
	copy(h.Returns[:], t.returns[1:])
	for axis := range 3 {
		if t.count == 0 {
			h.Min[axis], h.Max[axis] = 0, 0
			continue
		}
		h.Min[axis] = float64(float64(t.min[axis])*h.Scale[axis]) + h.Offset[axis]
		h.Max[axis] = float64(float64(t.max[axis])*h.Scale[axis]) + h.Offset[axis]
	}
}

package copc

import (
	"encoding/binary"
	"math"
)

// The places of a record's fields.
const (
	atReturns = 14
	atTime    = 22
)

// tally is what the header says of the points.
type tally struct {
	points  uint64
	low     [3]int32
	high    [3]int32
	returns [returnCounts]uint64
	minTime float64
	maxTime float64
}

func newTally() tally {
	t := tally{minTime: math.Inf(1), maxTime: math.Inf(-1)}
	for i := range 3 {
		t.low[i], t.high[i] = math.MaxInt32, math.MinInt32
	}
	return t
}

// add counts the record that b begins with.
func (t *tally) add(b []byte) {
	t.points++
	for i := range 3 {
		v := int32(binary.LittleEndian.Uint32(b[4*i:]))
		t.low[i], t.high[i] = min(t.low[i], v), max(t.high[i], v)
	}
	if r := b[atReturns] & 15; r > 0 {
		t.returns[r-1]++
	}
	// Comparisons leave out times that are no numbers.
	v := math.Float64frombits(binary.LittleEndian.Uint64(b[atTime:]))
	if v < t.minTime {
		t.minTime = v
	}
	if v > t.maxTime {
		t.maxTime = v
	}
}

// box returns the box of all points, all zeros if there are none.
func (t *tally) box(scale, offset [3]float64) (low, high [3]float64) {
	if t.points == 0 {
		return low, high
	}
	for i := range 3 {
		a, b := float64(t.low[i])*scale[i]+offset[i], float64(t.high[i])*scale[i]+offset[i]
		low[i], high[i] = min(a, b), max(a, b)
	}
	return low, high
}

// times sets the range of times, 0 if there are none.
func (t *tally) times(i *Info) {
	if t.minTime <= t.maxTime {
		i.MinTime, i.MaxTime = t.minTime, t.maxTime
	}
}

// gridBits is how many bits of a place a node's sampling cells have on each
// axis: 128 cells a side.
const gridBits = 7

// depth is how many bits a place in the root's cube has on each axis.
const depth = 30

// A cube finds the places of points in the root's cube.
type cube struct {
	info          Info
	scale, offset [3]float64
	corner        [3]float64
	units         float64 // places in a unit of the CRS
}

// cube returns the root's cube: about the middle of the points, a little wider
// than their greatest extent, so that those on its faces are inside.
func (t *tally) cube(scale, offset [3]float64) cube {
	const margin = 1e-6
	c := cube{scale: scale, offset: offset}
	low, high := t.box(scale, offset)
	half := 0.0
	for i := range 3 {
		c.info.Center[i] = low[i] + (high[i]-low[i])/2
		half = max(half, (high[i]-low[i])/2*(1+margin)+math.Abs(scale[i]))
	}
	c.info.HalfSize = half
	c.info.Spacing = 2 * half / (1 << gridBits)
	for i := range 3 {
		c.corner[i] = c.info.Center[i] - half
	}
	c.units = (1 << depth) / (2 * half)
	return c
}

// A spot is a place in the root's cube in units of 2^-depth of its side. Its
// high bits tell in which node of each level it is.
type spot [3]uint32

// spot returns the place of a record.
func (c *cube) spot(rec []byte) (s spot) {
	for i := range s {
		v := (coordinate(rec, i, c.scale, c.offset) - c.corner[i]) * c.units
		s[i] = uint32(min(max(v, 0), 1<<depth-1))
	}
	return s
}

// cell returns the number of the sampling cell of a spot in its node of a
// level.
func (s spot) cell(level int32) uint32 {
	const mask = 1<<gridBits - 1
	shift := uint(depth - gridBits - level)
	return s[0]>>shift&mask | s[1]>>shift&mask<<gridBits | s[2]>>shift&mask<<(2*gridBits)
}

// octant returns which child of its node of a level a spot is in.
func (s spot) octant(level int32) uint32 {
	shift := uint(depth - 1 - level)
	return s[0]>>shift&1 | s[1]>>shift&1<<1 | s[2]>>shift&1<<2
}

// child returns the key of an octant.
func (k Key) child(octant int) Key {
	o := int32(octant)
	return Key{k.Level + 1, k.X<<1 | o&1, k.Y<<1 | o>>1&1, k.Z<<1 | o>>2&1}
}

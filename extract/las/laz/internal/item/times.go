package item

import (
	"math"

	"quoin/extract/las/laz/internal/arith"
)

const (
	// sequences is how many interleaved runs of times are followed.
	sequences = 4
	// The symbols that say how a time goes on from the time before, in the
	// pointwise scheme; the layered scheme lacks the ones for "unchanged", so
	// that those above it are one less.
	zeroSame, zeroDiff, zeroNew, zeroSwitch = 0, 1, 2, 3
	multiMax, multiMinus, multiNew          = 500, 510, 512
	multiSame                               = 511
	zeroSymbols, multiSymbols               = 6, 516
	// patience is how many differences in a row must not fit the step that
	// is expected before the step is changed.
	patience = 3
	// The contexts of the integer coder.
	ctxZero, ctxOne, ctxFew, ctxMany, ctxMost   = 0, 1, 2, 3, 4
	ctxMinus, ctxMinusMost, ctxStill, ctxNewRun = 5, 6, 7, 8
	contexts                                    = 9
)

// Times codes GPS times, bit patterns of 64-bit floats, by their differences in
// up to four interleaved sequences.
type Times struct {
	models  arith.Bank // zero, multi
	diff    arith.Integer
	drop    uint32 // 1 if there are no symbols for unchanged times
	cur     uint32
	next    uint32
	t       [sequences]int64
	step    [sequences]int32
	extreme [sequences]uint32
}

// NewTimes returns a coder of times. Layered is set where the stream tells of
// changed times only.
func NewTimes(layered, search bool) Times {
	drop := Flag(layered)
	size := func(i int) int { return []int{zeroSymbols, multiSymbols}[i] - int(drop) }
	return Times{models: arith.NewBankOf(2, size, search), diff: arith.NewInteger(32, contexts, search), drop: drop}
}

// Reset begins with time first.
func (g *Times) Reset(first uint64) {
	g.models.Reset()
	g.diff.Reset()
	g.cur, g.next = 0, 0
	g.t = [sequences]int64{int64(first)}
	g.step, g.extreme = [sequences]int32{}, [sequences]uint32{}
}

// Last returns the latest time.
func (g *Times) Last() uint64 { return uint64(g.t[g.cur]) }

// Decode returns the next time.
func (g *Times) Decode(d *arith.Decoder) uint64 {
	// A time is coded in the sequence that the first symbol tells to switch to
	// at the latest.
	for range 2 {
		c := g.cur & (sequences - 1)
		var ahead uint32
		if g.step[c] == 0 {
			s := d.Symbol(g.models.At(0)) + g.drop
			switch s {
			case zeroSame:
				return g.Last()
			case zeroDiff:
				g.step[c] = d.Integer(&g.diff, 0, ctxZero)
				g.t[c] += int64(g.step[c])
				g.extreme[c] = 0
				return g.Last()
			}
			ahead = s - zeroNew
		} else {
			s := d.Symbol(g.models.At(1))
			if s <= multiMinus {
				p, ctx := g.predict(s)
				diff := d.Integer(&g.diff, p, ctx)
				g.t[c] += int64(diff)
				g.adapt(s, diff)
				return g.Last()
			}
			if s += g.drop; s == multiSame {
				return g.Last()
			}
			ahead = s - multiNew
		}
		if ahead == 0 {
			high := d.Integer(&g.diff, int32(g.t[c]>>32), ctxNewRun)
			g.open(int64(high)<<32 | int64(d.Raw(32)))
			return g.Last()
		}
		g.cur = (g.cur + ahead) & (sequences - 1)
	}
	d.Fail()
	return g.Last()
}

// predict returns what the difference should be for multiplier symbol s.
func (g *Times) predict(s uint32) (int32, uint32) {
	step := g.step[g.cur&(sequences-1)]
	switch {
	case s == 1:
		return step, ctxOne
	case s == 0:
		return 0, ctxStill
	case s < 10:
		return int32(s) * step, ctxFew
	case s < multiMax:
		return int32(s) * step, ctxMany
	case s == multiMax:
		return multiMax * step, ctxMost
	case s < multiMinus:
		return (multiMax - int32(s)) * step, ctxMinus
	}
	return (multiMax - multiMinus) * step, ctxMinusMost
}

// adapt changes the step of the sequence after several differences that were
// far from a small multiple of it.
func (g *Times) adapt(s uint32, diff int32) {
	c := g.cur & (sequences - 1)
	switch s {
	case 1:
		g.extreme[c] = 0
	case 0, multiMax, multiMinus:
		g.extreme[c]++
		if g.extreme[c] > patience {
			g.step[c], g.extreme[c] = diff, 0
		}
	}
}

// open begins a sequence with time t, in place of the oldest one.
func (g *Times) open(t int64) {
	g.next = (g.next + 1) & (sequences - 1)
	g.cur = g.next
	g.t[g.cur] = t
	g.step[g.cur], g.extreme[g.cur] = 0, 0
}

// Encode writes the next time.
func (g *Times) Encode(e *arith.Encoder, time uint64) {
	t := int64(time)
	delta := t - g.t[g.cur]
	zero := g.step[g.cur] == 0
	switch {
	case delta == 0 && g.drop == 0:
		g.symbol(e, zero, zeroSame, multiSame)
		return
	case delta == int64(int32(delta)):
		g.encodeDiff(e, int32(delta))
		g.t[g.cur] = t
		return
	}
	for ahead := uint32(1); ahead < sequences; ahead++ {
		c := (g.cur + ahead) & (sequences - 1)
		if other := t - g.t[c]; other == int64(int32(other)) {
			g.symbol(e, zero, zeroNew+ahead, multiNew+ahead)
			g.cur = c
			g.Encode(e, time)
			return
		}
	}
	g.symbol(e, zero, zeroNew, multiNew)
	e.Integer(&g.diff, int32(g.t[g.cur]>>32), int32(t>>32), ctxNewRun)
	e.Raw(32, uint32(t))
	g.open(t)
}

// symbol writes one of two symbols, by the state of the sequence.
func (g *Times) symbol(e *arith.Encoder, zero bool, ifZero, ifMulti uint32) {
	if zero {
		e.Symbol(g.models.At(0), ifZero-g.drop)
		return
	}
	e.Symbol(g.models.At(1), ifMulti-g.drop)
}

func (g *Times) encodeDiff(e *arith.Encoder, delta int32) {
	c := g.cur
	if g.step[c] == 0 {
		e.Symbol(g.models.At(0), zeroDiff-g.drop)
		e.Integer(&g.diff, 0, delta, ctxZero)
		g.step[c], g.extreme[c] = delta, 0
		return
	}
	s := multiplier(delta, g.step[c])
	e.Symbol(g.models.At(1), s)
	p, ctx := g.predict(s)
	e.Integer(&g.diff, p, delta, ctx)
	g.adapt(s, delta)
}

// multiplier returns the symbol of the multiple of step that is nearest to
// delta. The quotient is taken in single precision, as the format's first
// encoder does, so that the bytes are the same.
func multiplier(delta, step int32) uint32 {
	q := float64(float32(delta) / float32(step))
	m := math.Trunc(q + math.Copysign(0.5, q))
	switch {
	case m >= multiMax:
		return multiMax
	case m >= 0:
		return uint32(m)
	case m > multiMax-multiMinus:
		return uint32(multiMax - m)
	}
	return multiMinus
}

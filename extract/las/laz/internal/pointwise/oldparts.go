package pointwise

import (
	"math"

	"quoin/extract/las/laz/internal/arith"
	"quoin/extract/las/laz/internal/item"
)

// The symbols of times, version 1.
const (
	oldZeroSame, oldZeroDiff, oldZeroNew = 0, 1, 2
	oldMultiMax, oldMultiNew             = 509, 510
	oldMultiSame                         = 511
)

// oldTimes codes GPS times, version 1: a single sequence.
type oldTimes struct {
	models  arith.Bank // zero, multi
	diff    arith.Integer
	t       int64
	step    int32
	extreme int
}

func newOldTimes(search bool) *oldTimes {
	size := func(i int) int { return []int{3, 512}[i] }
	return &oldTimes{models: arith.NewBankOf(2, size, search), diff: arith.NewInteger(32, 6, search)}
}

func (g *oldTimes) reset(first uint64) {
	g.models.Reset()
	g.diff.Reset()
	g.t, g.step, g.extreme = int64(first), 0, 0
}

// predict returns what the difference should be for a multiplier symbol.
func (g *oldTimes) predict(s uint32) (int32, uint32) {
	switch {
	case s == 0:
		return g.step / 4, 2
	case s == 1:
		return g.step, 1
	case s < 10:
		return int32(s) * g.step, 3
	case s < 50:
		return int32(s) * g.step, 4
	}
	return int32(s) * g.step, 5
}

// adapt follows the step; unlike in version 2 it does so at each difference
// that was close to it.
func (g *oldTimes) adapt(s uint32, diff int32) {
	switch s {
	case 1:
		g.step, g.extreme = diff, 0
	case 0, oldMultiMax:
		if g.extreme++; g.extreme > 3 {
			g.step, g.extreme = diff, 0
		}
	}
}

func (g *oldTimes) decode(d *arith.Decoder) uint64 {
	if g.step == 0 {
		switch d.Symbol(g.models.At(0)) {
		case oldZeroDiff:
			g.step = d.Integer(&g.diff, 0, 0)
			g.t += int64(g.step)
		case oldZeroNew:
			g.t = int64(d.Uint64())
		}
		return uint64(g.t)
	}
	switch s := d.Symbol(g.models.At(1)); s {
	case oldMultiSame:
	case oldMultiNew:
		g.t = int64(d.Uint64())
	default:
		p, ctx := g.predict(s)
		diff := d.Integer(&g.diff, p, ctx)
		g.adapt(s, diff)
		g.t += int64(diff)
	}
	return uint64(g.t)
}

func (g *oldTimes) encode(e *arith.Encoder, time uint64) {
	t := int64(time)
	delta := t - g.t
	fits := delta == int64(int32(delta))
	defer func() { g.t = t }()
	if g.step == 0 {
		switch {
		case delta == 0:
			e.Symbol(g.models.At(0), oldZeroSame)
		case fits:
			e.Symbol(g.models.At(0), oldZeroDiff)
			e.Integer(&g.diff, 0, int32(delta), 0)
			g.step = int32(delta)
		default:
			e.Symbol(g.models.At(0), oldZeroNew)
			e.Uint64(time)
		}
		return
	}
	switch {
	case delta == 0:
		e.Symbol(g.models.At(1), oldMultiSame)
	case fits:
		q := float32(delta) / float32(g.step)
		s := uint32(min(max(math.Trunc(float64(q+0.5)), 0), oldMultiMax))
		e.Symbol(g.models.At(1), s)
		p, ctx := g.predict(s)
		e.Integer(&g.diff, p, int32(delta), ctx)
		g.adapt(s, int32(delta))
	default:
		e.Symbol(g.models.At(1), oldMultiNew)
		e.Uint64(time)
	}
}

// oldColours codes colours, version 1: each changed byte beside the one before.
type oldColours struct {
	used arith.Bank
	diff arith.Integer
}

func newOldColours(search bool) *oldColours {
	return &oldColours{used: arith.NewBank(1, 64, search), diff: arith.NewInteger(8, 6, search)}
}

func (c *oldColours) reset() {
	c.used.Reset()
	c.diff.Reset()
}

// decode writes into rec, six bytes, the colour that comes after last.
func (c *oldColours) decode(d *arith.Decoder, last, rec []byte) {
	mask := d.Symbol(c.used.At(0))
	for i := range uint32(colourSize) {
		rec[i] = last[i]
		if mask>>i&1 != 0 {
			rec[i] = byte(d.Integer(&c.diff, int32(last[i]), i))
		}
	}
}

func (c *oldColours) encode(e *arith.Encoder, last, rec []byte) {
	mask := uint32(0)
	for i := range colourSize {
		mask |= item.Flag(last[i] != rec[i]) << i
	}
	e.Symbol(c.used.At(0), mask)
	for i := range uint32(colourSize) {
		if mask>>i&1 != 0 {
			e.Integer(&c.diff, int32(last[i]), int32(rec[i]), i)
		}
	}
}

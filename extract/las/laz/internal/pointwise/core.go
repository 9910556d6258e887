package pointwise

import (
	"encoding/binary"

	"quoin/extract/las/laz/internal/arith"
	"quoin/extract/las/laz/internal/item"
)

// The places of the core's fields.
const (
	atX         = 0
	atY         = 4
	atZ         = 8
	atIntensity = 12
	atReturns   = 14
	atClass     = 15
	atAngle     = 16
	atUser      = 17
	atSource    = 18
)

// The bits of a core's mask of changed fields, version 2.
const (
	sourceChanged = 1 << iota
	userChanged
	angleChanged
	classChanged
	intensityChanged
	returnsChanged
)

// core codes the 20 bytes common to formats 0 to 5, version 2.
type core struct {
	bytes         bytesOfCore
	angle         arith.Bank
	intensity     arith.Integer
	source        arith.Integer
	dx, dy, z     arith.Integer
	xMed, yMed    [16]item.Median
	lastIntensity [16]uint16
	lastZ         [8]int32
}

// bytesOfCore has the models of fields that are coded by their value before.
type bytesOfCore struct {
	changed arith.Bank
	returns arith.Bank
	class   arith.Bank
	user    arith.Bank
}

func newBytesOfCore(search bool) bytesOfCore {
	return bytesOfCore{
		changed: arith.NewBank(1, 64, search),
		returns: arith.NewBank(256, 256, search),
		class:   arith.NewBank(256, 256, search),
		user:    arith.NewBank(256, 256, search),
	}
}

func (b *bytesOfCore) reset() {
	b.changed.Reset()
	b.returns.Reset()
	b.class.Reset()
	b.user.Reset()
}

func newCore(search bool) *core {
	return &core{
		bytes:     newBytesOfCore(search),
		angle:     arith.NewBank(2, 256, search),
		intensity: arith.NewInteger(16, 4, search),
		source:    arith.NewInteger(16, 1, search),
		dx:        arith.NewInteger(32, 2, search),
		dy:        arith.NewInteger(32, 22, search),
		z:         arith.NewInteger(32, 20, search),
	}
}

// reset begins a chunk. Intensities and heights begin at zero, not at those of
// the first point: so the format has it.
func (c *core) reset() {
	c.bytes.reset()
	c.angle.Reset()
	c.intensity.Reset()
	c.source.Reset()
	c.dx.Reset()
	c.dy.Reset()
	c.z.Reset()
	for i := range c.xMed {
		c.xMed[i].Reset()
		c.yMed[i].Reset()
	}
	clear(c.lastIntensity[:])
	clear(c.lastZ[:])
}

// Limits of the classes that are contexts.
const (
	limitY = 20
	limitZ = 18
)

// returnsOf splits the byte of a core that has the return numbers: the context
// of medians and intensities, the one of heights, and 1 for single returns.
func returnsOf(b byte) (m, level, single uint32) {
	r, n := uint32(b&7), uint32(b>>3&7)
	return uint32(item.Map8[n][r]), item.Level(n, r), item.Flag(n == 1)
}

// decode writes into rec the core that comes after last.
func (c *core) decode(d *arith.Decoder, last, rec []byte) {
	last, rec = last[:coreSize:coreSize], rec[:coreSize:coreSize]
	copy(rec[atReturns:], last[atReturns:])
	changed := d.Symbol(c.bytes.changed.At(0))
	if changed&returnsChanged != 0 {
		rec[atReturns] = byte(d.Symbol(c.bytes.returns.At(uint32(last[atReturns]))))
	}
	m, level, single := returnsOf(rec[atReturns])
	m &= 15
	intensity := c.lastIntensity[m]
	if changed&intensityChanged != 0 {
		intensity = uint16(d.Integer(&c.intensity, int32(intensity), min(m, 3)))
		c.lastIntensity[m] = intensity
	}
	binary.LittleEndian.PutUint16(rec[atIntensity:], intensity)
	if changed&(classChanged|angleChanged|userChanged|sourceChanged) != 0 {
		c.decodeRare(d, changed, last, rec)
	}
	dx := d.Integer(&c.dx, c.xMed[m].Get(), single)
	c.xMed[m].Add(dx)
	k := c.dx.K
	binary.LittleEndian.PutUint32(rec[atX:], binary.LittleEndian.Uint32(last[atX:])+uint32(dx))
	dy := d.Integer(&c.dy, c.yMed[m].Get(), item.Context(k, limitY, single))
	c.yMed[m].Add(dy)
	k = (k + c.dy.K) / 2
	binary.LittleEndian.PutUint32(rec[atY:], binary.LittleEndian.Uint32(last[atY:])+uint32(dy))
	z := d.Integer(&c.z, c.lastZ[level&7], item.Context(k, limitZ, single))
	c.lastZ[level&7] = z
	binary.LittleEndian.PutUint32(rec[atZ:], uint32(z))
}

// decodeRare decodes the fields that seldom change.
func (c *core) decodeRare(d *arith.Decoder, changed uint32, last, rec []byte) {
	if changed&classChanged != 0 {
		rec[atClass] = byte(d.Symbol(c.bytes.class.At(uint32(last[atClass]))))
	}
	if changed&angleChanged != 0 {
		rec[atAngle] = last[atAngle] + byte(d.Symbol(c.angle.At(uint32(rec[atReturns]>>6&1))))
	}
	if changed&userChanged != 0 {
		rec[atUser] = byte(d.Symbol(c.bytes.user.At(uint32(last[atUser]))))
	}
	if changed&sourceChanged != 0 {
		source := d.Integer(&c.source, int32(binary.LittleEndian.Uint16(last[atSource:])), 0)
		binary.LittleEndian.PutUint16(rec[atSource:], uint16(source))
	}
}

// encode writes the core rec that comes after last.
func (c *core) encode(e *arith.Encoder, last, rec []byte) {
	last, rec = last[:coreSize:coreSize], rec[:coreSize:coreSize]
	m, level, single := returnsOf(rec[atReturns])
	intensity := binary.LittleEndian.Uint16(rec[atIntensity:])
	wasSource, source := binary.LittleEndian.Uint16(last[atSource:]), binary.LittleEndian.Uint16(rec[atSource:])
	changed := item.Flag(last[atReturns] != rec[atReturns])<<5 |
		item.Flag(c.lastIntensity[m] != intensity)<<4 |
		item.Flag(last[atClass] != rec[atClass])<<3 |
		item.Flag(last[atAngle] != rec[atAngle])<<2 |
		item.Flag(last[atUser] != rec[atUser])<<1 |
		item.Flag(wasSource != source)
	e.Symbol(c.bytes.changed.At(0), changed)
	if changed&returnsChanged != 0 {
		e.Symbol(c.bytes.returns.At(uint32(last[atReturns])), uint32(rec[atReturns]))
	}
	if changed&intensityChanged != 0 {
		e.Integer(&c.intensity, int32(c.lastIntensity[m]), int32(intensity), min(m, 3))
		c.lastIntensity[m] = intensity
	}
	if changed&classChanged != 0 {
		e.Symbol(c.bytes.class.At(uint32(last[atClass])), uint32(rec[atClass]))
	}
	if changed&angleChanged != 0 {
		e.Symbol(c.angle.At(uint32(rec[atReturns]>>6&1)), uint32(rec[atAngle]-last[atAngle]))
	}
	if changed&userChanged != 0 {
		e.Symbol(c.bytes.user.At(uint32(last[atUser])), uint32(rec[atUser]))
	}
	if changed&sourceChanged != 0 {
		e.Integer(&c.source, int32(wasSource), int32(source), 0)
	}
	dx := int32(binary.LittleEndian.Uint32(rec[atX:]) - binary.LittleEndian.Uint32(last[atX:]))
	e.Integer(&c.dx, c.xMed[m].Get(), dx, single)
	c.xMed[m].Add(dx)
	dy := int32(binary.LittleEndian.Uint32(rec[atY:]) - binary.LittleEndian.Uint32(last[atY:]))
	e.Integer(&c.dy, c.yMed[m].Get(), dy, item.Context(c.dx.K, limitY, single))
	c.yMed[m].Add(dy)
	z := int32(binary.LittleEndian.Uint32(rec[atZ:]))
	e.Integer(&c.z, c.lastZ[level], z, item.Context((c.dx.K+c.dy.K)/2, limitZ, single))
	c.lastZ[level] = z
}

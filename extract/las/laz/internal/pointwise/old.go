package pointwise

import (
	"encoding/binary"

	"quoin/extract/las/laz/internal/arith"
	"quoin/extract/las/laz/internal/item"
)

// The bits of a core's mask of changed fields, version 1, where they differ
// from those of version 2.
const (
	oldReturnsChanged   = 1 << 4
	oldIntensityChanged = 1 << 5
)

// oldContexts is the number of contexts of differences in y and z, version 1.
const oldContexts = 20

// oldCore codes the 20 bytes common to formats 0 to 5, version 1.
type oldCore struct {
	bytes     bytesOfCore
	intensity arith.Integer
	angle     arith.Integer
	source    arith.Integer
	dx, dy, z arith.Integer
	x, y      [3]int32
	at        int
}

func newOldCore(search bool) *oldCore {
	return &oldCore{
		bytes:     newBytesOfCore(search),
		intensity: arith.NewInteger(16, 1, search),
		angle:     arith.NewInteger(8, 2, search),
		source:    arith.NewInteger(16, 1, search),
		dx:        arith.NewInteger(32, 1, search),
		dy:        arith.NewInteger(32, oldContexts, search),
		z:         arith.NewInteger(32, oldContexts, search),
	}
}

func (c *oldCore) reset() {
	c.bytes.reset()
	c.intensity.Reset()
	c.angle.Reset()
	c.source.Reset()
	c.dx.Reset()
	c.dy.Reset()
	c.z.Reset()
	c.x, c.y, c.at = [3]int32{}, [3]int32{}, 0
}

// push takes in the latest differences.
func (c *oldCore) push(dx, dy int32) {
	c.x[c.at], c.y[c.at] = dx, dy
	c.at = (c.at + 1) % 3
}

// decode writes into rec the core that comes after last.
func (c *oldCore) decode(d *arith.Decoder, last, rec []byte) {
	copy(rec[:coreSize], last)
	dx := d.Integer(&c.dx, item.Median3(c.x[0], c.x[1], c.x[2]), 0)
	dy := d.Integer(&c.dy, item.Median3(c.y[0], c.y[1], c.y[2]), min(c.dx.K, oldContexts-1))
	k := (c.dx.K + c.dy.K) / 2
	z := d.Integer(&c.z, int32(binary.LittleEndian.Uint32(last[atZ:])), min(k, oldContexts-1))
	binary.LittleEndian.PutUint32(rec[atX:], binary.LittleEndian.Uint32(last[atX:])+uint32(dx))
	binary.LittleEndian.PutUint32(rec[atY:], binary.LittleEndian.Uint32(last[atY:])+uint32(dy))
	binary.LittleEndian.PutUint32(rec[atZ:], uint32(z))
	c.push(dx, dy)
	changed := d.Symbol(c.bytes.changed.At(0))
	if changed&oldIntensityChanged != 0 {
		v := d.Integer(&c.intensity, int32(binary.LittleEndian.Uint16(last[atIntensity:])), 0)
		binary.LittleEndian.PutUint16(rec[atIntensity:], uint16(v))
	}
	if changed&oldReturnsChanged != 0 {
		rec[atReturns] = byte(d.Symbol(c.bytes.returns.At(uint32(last[atReturns]))))
	}
	if changed&classChanged != 0 {
		rec[atClass] = byte(d.Symbol(c.bytes.class.At(uint32(last[atClass]))))
	}
	if changed&angleChanged != 0 {
		rec[atAngle] = byte(d.Integer(&c.angle, int32(last[atAngle]), item.Flag(k < 3)))
	}
	if changed&userChanged != 0 {
		rec[atUser] = byte(d.Symbol(c.bytes.user.At(uint32(last[atUser]))))
	}
	if changed&sourceChanged != 0 {
		v := d.Integer(&c.source, int32(binary.LittleEndian.Uint16(last[atSource:])), 0)
		binary.LittleEndian.PutUint16(rec[atSource:], uint16(v))
	}
}

// encode writes the core rec that comes after last.
func (c *oldCore) encode(e *arith.Encoder, last, rec []byte) {
	number := func(b []byte, at int) int32 { return int32(binary.LittleEndian.Uint32(b[at:])) }
	short := func(b []byte, at int) int32 { return int32(binary.LittleEndian.Uint16(b[at:])) }
	dx, dy := number(rec, atX)-number(last, atX), number(rec, atY)-number(last, atY)
	e.Integer(&c.dx, item.Median3(c.x[0], c.x[1], c.x[2]), dx, 0)
	e.Integer(&c.dy, item.Median3(c.y[0], c.y[1], c.y[2]), dy, min(c.dx.K, oldContexts-1))
	k := (c.dx.K + c.dy.K) / 2
	e.Integer(&c.z, number(last, atZ), number(rec, atZ), min(k, oldContexts-1))
	c.push(dx, dy)
	changed := item.Flag(short(last, atIntensity) != short(rec, atIntensity))<<5 |
		item.Flag(last[atReturns] != rec[atReturns])<<4 |
		item.Flag(last[atClass] != rec[atClass])<<3 |
		item.Flag(last[atAngle] != rec[atAngle])<<2 |
		item.Flag(last[atUser] != rec[atUser])<<1 |
		item.Flag(short(last, atSource) != short(rec, atSource))
	e.Symbol(c.bytes.changed.At(0), changed)
	if changed&oldIntensityChanged != 0 {
		e.Integer(&c.intensity, short(last, atIntensity), short(rec, atIntensity), 0)
	}
	if changed&oldReturnsChanged != 0 {
		e.Symbol(c.bytes.returns.At(uint32(last[atReturns])), uint32(rec[atReturns]))
	}
	if changed&classChanged != 0 {
		e.Symbol(c.bytes.class.At(uint32(last[atClass])), uint32(rec[atClass]))
	}
	if changed&angleChanged != 0 {
		e.Integer(&c.angle, int32(last[atAngle]), int32(rec[atAngle]), item.Flag(k < 3))
	}
	if changed&userChanged != 0 {
		e.Symbol(c.bytes.user.At(uint32(last[atUser])), uint32(rec[atUser]))
	}
	if changed&sourceChanged != 0 {
		e.Integer(&c.source, short(last, atSource), short(rec, atSource), 0)
	}
}

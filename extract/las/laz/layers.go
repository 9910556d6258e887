package laz

import (
	"slices"

	"quoin/extract/las/laz/internal/layered"
)

// Layers says which fields of formats 6 to 10 are to be decoded. Coordinates x
// and y, return numbers and scanner channels always are. A field that isn't
// has, in all points of a chunk, the value of the chunk's first point.
//
// The bits are the customary ones. Of formats 0 to 5 all fields are always
// decoded.
type Layers uint32

const (
	LayerZ Layers = 1 << iota
	LayerClassification
	LayerFlags // class flags, scan direction, edge of flight line
	LayerIntensity
	LayerScanAngle
	LayerUserData
	LayerPointSource
	LayerTime
	LayerRGB
	LayerNIR
	LayerWavePacket

	// AllLayers is everything.
	AllLayers Layers = 1<<32 - 1
)

// extraLayers is the number of extra bytes that have bits of their own.
const extraLayers = 16

// LayerExtra returns the bit of extra byte i of a record. From the sixteenth on
// all share one bit.
func LayerExtra(i int) Layers { return 1 << (16 + min(max(i, 0), extraLayers-1)) }

// wants returns what says whether layer i of the plan's format is wanted.
func (p plan) wants(l Layers) func(i int) bool {
	bits := []Layers{layered.LayerXY: AllLayers}
	for i := layered.LayerZ; i <= layered.LayerTime; i++ {
		bits = append(bits, LayerZ<<(i-layered.LayerZ))
	}
	f := p.layeredFormat()
	if f.Colours {
		bits = append(bits, LayerRGB)
	}
	if f.NIR {
		bits = append(bits, LayerNIR)
	}
	if f.Packets {
		bits = append(bits, LayerWavePacket)
	}
	for i := range f.Extra {
		bits = append(bits, LayerExtra(i))
	}
	bits = slices.Clip(bits)
	return func(i int) bool { return bits[i]&l != 0 }
}

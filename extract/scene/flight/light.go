package flight

import (
	"math"

	"quoin/extract/scene/chance"
	"quoin/extract/scene/solid"
)

// light is the sun under which the camera sees the block.
type light struct {
	sun solid.Vec // towards it
	key uint64
}

// newLight puts the sun in the south-west, a third up the sky.
func newLight(seed uint64) light {
	return light{solid.Vec{X: -0.55, Y: -0.6, Z: 0.75}.Unit(), chance.Hash(seed, 0x5a17)}
}

// Brightness of a place in the shadow, and what direct sun adds at most.
const (
	ambient = 0.42
	direct  = 0.75
)

// colour returns what a camera sees at p, 16 bits a channel.
func (l light) colour(w *solid.World, h solid.Hit, p solid.Vec) (r, g, b uint16) {
	bright := ambient
	facing := h.Normal.Dot(l.sun)
	foliage := h.Surface.Class >= solid.LowVegetation && h.Surface.Class <= solid.Tree
	if foliage {
		facing = 0.6 // leaves face everywhere
	}
	if facing > 0 {
		from := p.Add(h.Normal.Scale(0.05)).Add(l.sun.Scale(0.1))
		if _, dark := w.Look(solid.Ray{Origin: from, Dir: l.sun}, 0.7, 80); !dark {
			bright += direct * facing
		}
	}
	bright *= l.texture(p, foliage)
	channel := func(c uint8) uint16 { return uint16(min(65535, float64(c)*257*bright)) }
	return channel(h.Surface.Red), channel(h.Surface.Green), channel(h.Surface.Blue)
}

// texture makes surfaces grainy: patches of half a metre and of a hand.
func (l light) texture(p solid.Vec, foliage bool) float64 {
	grain := func(size float64) float64 {
		x, y := math.Floor(p.X/size), math.Floor(p.Y/size)
		return chance.Unit(chance.Lattice(l.key, uint64(int64(x)), uint64(int64(y)), math.Float64bits(size))) - 0.5
	}
	depth := 0.10
	if foliage {
		depth = 0.45
	}
	return 1 + depth*(grain(0.55)+grain(0.15))
}

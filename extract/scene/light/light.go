// Package light gives the surfaces of a simulated block their colour under one
// sun, for the scanner's camera and for aerial images alike.
package light

import (
	"math"

	"quoin/extract/scene/chance"
	"quoin/extract/scene/solid"
)

// A Sun lights a block. It is a value, safe for concurrent use.
type Sun struct {
	towards solid.Vec
	key     uint64 // of the grain of surfaces
}

// New puts the sun in the south-west, a good third up the sky (43°). The seed
// is that of the block.
func New(seed uint64) Sun {
	return Sun{solid.Vec{X: -0.55, Y: -0.6, Z: 0.75}.Unit(), chance.Hash(seed, 0x5a17)}
}

// Brightness of a place in the shadow, and what direct sun adds at most.
const (
	ambient = 0.42
	direct  = 0.75
)

// Brightness returns by what the colour of h's surface is to be multiplied at
// p, where a ray met h, and whether the sun shines there.
func (s Sun) Brightness(w *solid.World, h solid.Hit, p solid.Vec) (bright float64, lit bool) {
	bright = ambient
	facing := h.Normal.Dot(s.towards)
	foliage := Foliage(h)
	if foliage {
		facing = 0.6 // leaves face everywhere
	}
	if facing > 0 {
		from := p.Add(h.Normal.Scale(0.05)).Add(s.towards.Scale(0.1))
		if _, dark := w.Look(solid.Ray{Origin: from, Dir: s.towards}, 0.7, 80); !dark {
			bright, lit = bright+direct*facing, true
		}
	}
	return bright * s.texture(p, foliage), lit
}

// Foliage reports whether leaves were met.
func Foliage(h solid.Hit) bool {
	return h.Surface.Class >= solid.LowVegetation && h.Surface.Class <= solid.Tree
}

// texture makes surfaces grainy: patches of half a metre and of a hand.
func (s Sun) texture(p solid.Vec, foliage bool) float64 {
	grain := func(size float64) float64 {
		x, y := math.Floor(p.X/size), math.Floor(p.Y/size)
		return chance.Unit(chance.Lattice(s.key, uint64(int64(x)), uint64(int64(y)), math.Float64bits(size))) - 0.5
	}
	depth := 0.10
	if foliage {
		depth = 0.45
	}
	return 1 + depth*(grain(0.55)+grain(0.15))
}

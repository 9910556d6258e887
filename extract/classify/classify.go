// Package classify gives every point an ASPRS class from what the other stages
// found, and tells which classes of a file are left alone.
package classify

import (
	"math"

	"quoin/extract/cloud"
)

// The classes that are given: ASPRS LAS 1.4 R15, table 17.
const (
	Unclassified     = 1
	Ground           = 2
	LowVegetation    = 3
	MediumVegetation = 4
	HighVegetation   = 5
	Building         = 6
	LowNoise         = 7
	BridgeDeck       = 17
	HighNoise        = 18
)

// Heights above ground in metres that part low, medium and high vegetation.
// The ASPRS leaves them open; half a metre and two are common practice, no
// source.
const (
	MediumFrom = 0.5
	HighFrom   = 2.0
)

// Evidence is what the other stages took a point for.
type Evidence uint8

// The kinds of evidence.
const (
	None       Evidence = iota // nothing in particular
	OnGround                   // on the terrain
	OnRoof                     // on the roof of a building
	OnDeck                     // on a bridge
	Foliage                    // above ground and rough
	BesideRoof                 // a wall, or something that stands on a roof
)

// belowGround is how far below the terrain, in metres, a return is garbage:
// deeper than any ditch that the terrain smooths over.
const belowGround = 1.0

// Classes returns the class of each point of the block. heights are those above
// ground in metres, NaN where unknown; evidence is parallel to the points.
//
// Ground, roofs, bridges and leaves get classes 2, 6, 17 and 3 to 5; what lies
// far below the terrain 7, what floats alone above it 18, all else 1.
func Classes(b *cloud.Block, heights []float32, evidence []Evidence) []uint8 {
	out := make([]uint8, b.Len())
	for i := range b.Units() {
		ClassesInto(out, b, heights, evidence, i)
	}
	return out
}

// ClassesInto writes the classes of the points of one unit, by its place among
// the block's, to out, which is parallel to the points. Units may be worked at
// the same time.
func ClassesInto(out []uint8, b *cloud.Block, heights []float32, evidence []Evidence, unit int) {
	crowd := newCrowd(b, heights, b.Units()[unit].Pad(2*cube))
	s := b.UnitSpans()[unit]
	for i := s.Lo; i < s.Hi; i++ {
		p, h := &b.Points[i], float64(heights[i])
		switch e := evidence[i]; {
		case e == OnRoof:
			out[i] = Building
		case e == OnDeck:
			out[i] = BridgeDeck
		case e == OnGround:
			out[i] = Ground
		case h < -belowGround:
			out[i] = LowNoise
		case h > HighFrom && crowd.alone(p):
			out[i] = HighNoise
		case e == Foliage || e == None && h > 0 && h < MediumFrom && p.Returns() > 1:
			out[i] = vegetation(h)
		default:
			out[i] = Unclassified
		}
	}
}

func vegetation(h float64) uint8 {
	switch {
	case math.IsNaN(h):
		return Unclassified
	case h < MediumFrom:
		return LowVegetation
	case h < HighFrom:
		return MediumVegetation
	}
	return HighVegetation
}

// A crowd counts points above ground in cubes.
type crowd map[[3]int32]uint8

// cube is the side of a cube in metres: no leaf is farther from the next.
const cube = 2

func newCrowd(b *cloud.Block, heights []float32, r cloud.Rect) crowd {
	c := make(crowd)
	for i := range b.In(r) {
		if heights[i] > HighFrom/2 {
			if k := cubeOf(&b.Points[i]); c[k] < math.MaxUint8 {
				c[k]++
			}
		}
	}
	return c
}

func cubeOf(p *cloud.Point) [3]int32 {
	at := func(v float64) int32 { return int32(math.Floor(v / cube)) }
	return [3]int32{at(p.East()), at(p.North()), at(p.Up())}
}

// alone reports whether hardly anything is within a cube of a point: birds,
// haze, multiple reflections.
func (c crowd) alone(p *cloud.Point) bool {
	k := cubeOf(p)
	n := 0
	for dx := int32(-1); dx <= 1; dx++ {
		for dy := int32(-1); dy <= 1; dy++ {
			for dz := int32(-1); dz <= 1; dz++ {
				if n += int(c[[3]int32{k[0] + dx, k[1] + dy, k[2] + dz}]); n > 2 {
					return false
				}
			}
		}
	}
	return true
}

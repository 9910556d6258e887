package yard

import (
	"math"

	"quoin/extract/scene/chance"
	"quoin/extract/scene/solid"
)

var (
	timber   = solid.Surface{Class: solid.Fence, Reflectance: 110, Rough: 5, Red: 132, Green: 108, Blue: 80}
	masonry  = solid.Surface{Class: solid.Fence, Reflectance: 120, Rough: 8, Red: 150, Green: 144, Blue: 134}
	canvas   = solid.Surface{Class: solid.Tent, Reflectance: 190, Rough: 10, Red: 226, Green: 224, Blue: 214}
	concrete = solid.Surface{Class: solid.BridgeDeck, Reflectance: 90, Rough: 6, Red: 140, Green: 138, Blue: 132}
	cable    = solid.Surface{Class: solid.Wire, Reflectance: 70, Red: 70, Green: 70, Blue: 74}
	mast     = solid.Surface{Class: solid.Pylon, Reflectance: 110, Red: 120, Green: 112, Blue: 96}
	steel    = solid.Surface{Class: solid.Furniture, Reflectance: 110, Red: 210, Green: 170, Blue: 40}
)

// Fence returns a fence of boards between two places, a hand thick.
func Fence(from, to solid.Point, ground [2]float64, height float64) Thing {
	return barrier("fence", from, to, ground, barrierSize{0.08, height, timber})
}

// Wall returns a free-standing wall between two places.
func Wall(from, to solid.Point, ground [2]float64, height, width float64) Thing {
	return barrier("wall", from, to, ground, barrierSize{width, height, masonry})
}

type barrierSize struct {
	width, height float64
	surface       solid.Surface
}

// barrier follows the ground from one end to the other.
func barrier(kind string, from, to solid.Point, ground [2]float64, s barrierSize) Thing {
	d := to.Sub(from)
	length := d.Length()
	plan := solid.Rectangle(from.Add(to).Scale(0.5), length, s.width, math.Atan2(d.Y, d.X))
	rise := (ground[1] - ground[0]) / length / length
	foot := solid.Slope{Z: ground[0] - rise*from.Dot(d), A: rise * d.X, B: rise * d.Y}
	body := solid.Prism(plan, foot.Raised(-0.6), []solid.Slope{foot.Raised(s.height)}, s.surface, s.surface)
	return Thing{Kind: kind, Outline: plan, Height: s.height, Bodies: []solid.Body{body}}
}

// Tent returns a marquee: canvas falling from a ridge to low sides.
func Tent(p solid.Point, ground, heading, length, width float64) Thing {
	plan := solid.Rectangle(p, length, width, heading)
	const side, tan = 1.9, 0.5
	s, c := math.Sincos(heading)
	across := solid.Point{X: -s, Y: c}
	ridge := ground + side + tan*width/2
	var tops []solid.Slope
	for _, sign := range [2]float64{1, -1} {
		n := across.Scale(-sign * tan)
		tops = append(tops, solid.Slope{Z: ridge - n.Dot(p), A: n.X, B: n.Y})
	}
	body := solid.Prism(plan, solid.Level(ground-0.2), tops, canvas, canvas)
	return Thing{Kind: "tent", Outline: plan, Height: ridge - ground, Bodies: []solid.Body{body}}
}

// Bridge returns a deck with parapets between two places at deck elevations,
// on two rows of piers.
func Bridge(from, to solid.Point, deck [2]float64, width float64) Thing {
	d := to.Sub(from)
	t := barrier("bridge", from, to, deck, barrierSize{width, 0, concrete})
	heading := math.Atan2(d.Y, d.X)
	for _, v := range [2]float64{-1, 1} {
		off := (width/2 - 0.15) * v
		rail := barrier("bridge", along(from, heading, 0, off), along(to, heading, 0, off), deck, barrierSize{0.3, 1, concrete})
		t.Bodies = append(t.Bodies, rail.Bodies...)
	}
	for _, u := range [2]float64{1.0 / 3, 2.0 / 3} {
		p := from.Add(d.Scale(u))
		plan := solid.Rectangle(p, 0.8, width-1, heading)
		t.Bodies = append(t.Bodies, solid.Block(plan, min(deck[0], deck[1])-12, deck[0]+(deck[1]-deck[0])*u-0.3, concrete))
	}
	return t
}

// PowerLine returns wires that sag between masts at the given places.
func PowerLine(masts []solid.Vec, height float64) Thing {
	t := Thing{Kind: "power line", Height: height}
	for i, m := range masts {
		p := solid.Point{X: m.X, Y: m.Y}
		t.Bodies = append(t.Bodies, solid.Cylinder(p, 0.16, m.Z-0.5, m.Z+height, mast, mast))
		if i == 0 {
			continue
		}
		a, b := masts[i-1], m
		heading := math.Atan2(b.Y-a.Y, b.X-a.X)
		for _, v := range [3]float64{-0.9, 0, 0.9} {
			from := along(solid.Point{X: a.X, Y: a.Y}, heading, 0, v).Up(a.Z + height - 0.2)
			to := along(p, heading, 0, v).Up(b.Z + height - 0.2)
			t.Bodies = append(t.Bodies, sagging(from, to)...)
		}
	}
	first, last := masts[0], masts[len(masts)-1]
	middle := first.Add(last).Scale(0.5)
	d := last.Sub(first)
	t.Outline = solid.Rectangle(solid.Point{X: middle.X, Y: middle.Y}, math.Hypot(d.X, d.Y)+1, 2.4, math.Atan2(d.Y, d.X))
	return t
}

// sagging returns a wire as straight pieces along a parabola, sagging by a
// thirtieth of its span.
func sagging(from, to solid.Vec) []solid.Body {
	const pieces = 16
	sag := to.Sub(from).Length() / 30
	at := func(i int) solid.Vec {
		u := float64(i) / pieces
		p := from.Add(to.Sub(from).Scale(u))
		p.Z -= 4 * sag * u * (1 - u)
		return p
	}
	var bodies []solid.Body
	for i := range pieces {
		bodies = append(bodies, solid.Rod(at(i), at(i+1), 0.012, cable))
	}
	return bodies
}

// Crane returns a tower crane: a lattice mast and jib, which let most light by.
func Crane(p solid.Point, ground, heading, height, jib float64, dice *chance.Stream) Thing {
	lattice := func(b solid.Body) solid.Body {
		b.Foliage, b.Surface = &solid.Foliage{Rate: 0.6, Voxel: 0.25, Gap: 0.6, Key: dice.Uint64()}, steel
		return b
	}
	arm := solid.Rectangle(along(p, heading, jib/2-4, 0), jib+8, 1.2, heading)
	return Thing{
		Kind: "crane", Outline: arm, Height: height,
		Bodies: []solid.Body{
			lattice(solid.Block(solid.Rectangle(p, 1.6, 1.6, heading), ground-0.5, ground+height, steel)),
			lattice(solid.Block(arm, ground+height-1.3, ground+height, steel)),
		},
	}
}

// Pool returns a round pool under a cover, level with the ground or standing
// above it.
func Pool(p solid.Point, ground, radius, height float64) Thing {
	cover := solid.Surface{Class: solid.Pool, Reflectance: 110, Gloss: 30, Rough: 4, Red: 90, Green: 140, Blue: 168}
	return Thing{
		Kind: "pool", Outline: disc(p, radius), Height: height,
		Bodies: []solid.Body{solid.Cylinder(p, radius, ground-0.4, ground+height, cover, cover)},
	}
}

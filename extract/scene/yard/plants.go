package yard

import (
	"math"

	"quoin/extract/scene/chance"
	"quoin/extract/scene/solid"
)

// leaves returns the surface of foliage of a class.
func leaves(class solid.Class, dice *chance.Stream) solid.Surface {
	shade := uint8(dice.Pick(4) * 9)
	return solid.Surface{Class: class, Reflectance: 120, Red: 62 + shade, Green: 96 + shade, Blue: 48 + shade/2}
}

var bark = solid.Surface{Class: solid.Tree, Reflectance: 90, Rough: 10, Red: 92, Green: 78, Blue: 62}

// Broadleaf returns a tree with a crown of several overlapping balls of
// leaves, of which about two thirds of the light is stopped.
func Broadleaf(p solid.Point, ground, height, radius float64, dice *chance.Stream) Thing {
	surface := leaves(solid.Tree, dice)
	base := ground + 0.3*height
	t := Thing{Kind: "tree", Outline: disc(p, radius), Height: height}
	trunk := solid.Cylinder(p, 0.08+0.02*height, ground-0.5, base+0.2*height, bark, bark)
	t.Bodies = append(t.Bodies, trunk)
	crown := func(at solid.Vec, r, h float64) {
		b := solid.Ellipsoid(at, solid.Vec{X: r, Y: r, Z: h}, surface)
		b.Foliage = &solid.Foliage{Rate: 0.75, Voxel: 0.35, Gap: 0.45, Key: dice.Uint64()}
		t.Bodies = append(t.Bodies, b)
	}
	middle := (base + ground + height) / 2
	crown(p.Up(middle), 0.8*radius, (ground+height-base)/2)
	for i := range 4 {
		s, c := math.Sincos(2*math.Pi*float64(i)/4 + dice.Between(0, 1))
		at := p.Add(solid.Point{X: c, Y: s}.Scale(0.45 * radius))
		crown(at.Up(middle+dice.Between(-0.12, 0.12)*height), 0.55*radius, 0.24*height)
	}
	return t
}

// Conifer returns a tree with a dense crown shaped as a cone.
func Conifer(p solid.Point, ground, height, radius float64, dice *chance.Stream) Thing {
	surface := leaves(solid.Tree, dice)
	surface.Red, surface.Green = surface.Red-20, surface.Green-18
	b := solid.Cone(p, radius, ground+0.08*height, ground+height, surface)
	b.Surface = surface
	b.Foliage = &solid.Foliage{Rate: 1.6, Voxel: 0.3, Gap: 0.35, Key: dice.Uint64()}
	trunk := solid.Cylinder(p, 0.15, ground-0.5, ground+0.6*height, bark, bark)
	return Thing{Kind: "tree", Outline: disc(p, radius), Height: height, Bodies: []solid.Body{trunk, b}}
}

// Shrub returns a low ball of leaves.
func Shrub(p solid.Point, ground, height, radius float64, dice *chance.Stream) Thing {
	class := solid.LowVegetation
	if height > 0.5 {
		class = solid.MidVegetation
	}
	surface := leaves(class, dice)
	b := solid.Ellipsoid(p.Up(ground+height/2), solid.Vec{X: radius, Y: radius, Z: height / 2}, surface)
	b.Foliage = &solid.Foliage{Rate: 3, Voxel: 0.15, Gap: 0.3, Key: dice.Uint64()}
	return Thing{Kind: "shrub", Outline: disc(p, radius), Height: height, Bodies: []solid.Body{b}}
}

// Hedge returns a clipped hedge over a rectangle: dense, so that its top looks
// smooth.
func Hedge(plan []solid.Point, ground, height float64, dice *chance.Stream) Thing {
	surface := leaves(solid.MidVegetation, dice)
	if height > 2 {
		surface.Class = solid.Tree
	}
	b := solid.Block(plan, ground-0.3, ground+height, surface)
	b.Surface = surface
	b.Foliage = &solid.Foliage{Rate: 14, Voxel: 0.12, Gap: 0.12, Key: dice.Uint64()}
	return Thing{Kind: "hedge", Outline: plan, Height: height, Bodies: []solid.Body{b}}
}

package layout

import (
	"quoin/extract/scene/chance"
	"quoin/extract/scene/house"
	"quoin/extract/scene/solid"
)

// Covers of the ground.
var (
	grass   = solid.Surface{Class: solid.Terrain, Reflectance: 110, Rough: 18, Red: 104, Green: 122, Blue: 70}
	meadow  = solid.Surface{Class: solid.Terrain, Reflectance: 115, Rough: 40, Red: 128, Green: 134, Blue: 78}
	asphalt = solid.Surface{Class: solid.Terrain, Reflectance: 42, Rough: 4, Gloss: 4, Red: 92, Green: 92, Blue: 96}
	paving  = solid.Surface{Class: solid.Terrain, Reflectance: 88, Rough: 4, Red: 158, Green: 152, Blue: 142}
	gravel  = solid.Surface{Class: solid.Terrain, Reflectance: 96, Rough: 12, Red: 168, Green: 158, Blue: 138}
	litter  = solid.Surface{Class: solid.Terrain, Reflectance: 80, Rough: 35, Red: 96, Green: 84, Blue: 60}
	water   = solid.Surface{Class: solid.Water, Reflectance: 16, Gloss: 232, Red: 62, Green: 84, Blue: 92}
	heap    = solid.Surface{Class: solid.Stockpile, Reflectance: 96, Rough: 60, Red: 150, Green: 126, Blue: 92}
)

// Things on roofs.
var (
	brick   = solid.Surface{Class: solid.RoofPlant, Reflectance: 100, Rough: 6, Red: 138, Green: 84, Blue: 66}
	panel   = solid.Surface{Class: solid.RoofPlant, Reflectance: 30, Gloss: 110, Red: 30, Green: 38, Blue: 66}
	window  = solid.Surface{Class: solid.RoofPlant, Reflectance: 40, Gloss: 190, Red: 110, Green: 132, Blue: 148}
	machine = solid.Surface{Class: solid.RoofPlant, Reflectance: 140, Rough: 4, Red: 176, Green: 180, Blue: 182}
	balcony = solid.Surface{Class: solid.Balcony, Reflectance: 120, Rough: 3, Red: 188, Green: 184, Blue: 176}
)

// Roof coverings.
var (
	redTile  = solid.Surface{Class: solid.Roof, Reflectance: 100, Rough: 9, Red: 158, Green: 84, Blue: 60}
	greyTile = solid.Surface{Class: solid.Roof, Reflectance: 70, Rough: 8, Red: 104, Green: 102, Blue: 104}
	brown    = solid.Surface{Class: solid.Roof, Reflectance: 84, Rough: 9, Red: 118, Green: 88, Blue: 70}
	slate    = solid.Surface{Class: solid.Roof, Reflectance: 46, Rough: 5, Gloss: 6, Red: 74, Green: 78, Blue: 86}
	bitumen  = solid.Surface{Class: solid.Roof, Reflectance: 24, Rough: 4, Gloss: 8, Red: 66, Green: 64, Blue: 64}
	pebbles  = solid.Surface{Class: solid.Roof, Reflectance: 100, Rough: 9, Red: 164, Green: 160, Blue: 152}
	metal    = solid.Surface{Class: solid.Roof, Reflectance: 150, Rough: 3, Gloss: 36, Red: 178, Green: 184, Blue: 190}
	glass    = solid.Surface{Class: solid.Roof, Reflectance: 36, Rough: 2, Gloss: 170, Red: 150, Green: 172, Blue: 176}
	greenTop = solid.Surface{Class: solid.Roof, Reflectance: 105, Rough: 22, Red: 112, Green: 124, Blue: 78}
)

var (
	render    = solid.Surface{Class: solid.Wall, Reflectance: 170, Rough: 4, Red: 214, Green: 208, Blue: 194}
	boards    = solid.Surface{Class: solid.Wall, Reflectance: 120, Rough: 6, Red: 122, Green: 96, Blue: 72}
	metalWall = solid.Surface{Class: solid.Wall, Reflectance: 150, Rough: 3, Gloss: 20, Red: 190, Green: 194, Blue: 196}
	trim      = solid.Surface{Class: solid.Roof, Reflectance: 130, Rough: 2, Red: 186, Green: 182, Blue: 176}
)

// pitched returns the look of a house with a pitched roof.
func pitched(dice *chance.Stream) house.Look {
	tops := []solid.Surface{redTile, redTile, greyTile, brown, slate}
	return house.Look{Roof: tops[dice.Pick(len(tops))], Wall: wallOf(dice), Trim: trim}
}

// level returns the look of a building with a flat roof.
func level(dice *chance.Stream) house.Look {
	tops := []solid.Surface{bitumen, pebbles, pebbles, metal, greenTop}
	return house.Look{Roof: tops[dice.Pick(len(tops))], Wall: wallOf(dice), Trim: trim}
}

func wallOf(dice *chance.Stream) solid.Surface {
	w := render
	shift := uint8(dice.Pick(5) * 8)
	w.Red, w.Green, w.Blue = w.Red-shift, w.Green-shift, w.Blue-shift/2
	return w
}

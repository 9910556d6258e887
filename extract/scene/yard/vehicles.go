package yard

import (
	"quoin/extract/scene/chance"
	"quoin/extract/scene/solid"
)

// paint returns the surface of a vehicle. Car paint and glass throw part of
// the light away.
func paint(dice *chance.Stream) solid.Surface {
	s := solid.Surface{Class: solid.Vehicle, Reflectance: 130, Gloss: 25}
	switch dice.Pick(5) {
	case 0:
		s.Red, s.Green, s.Blue = 170, 40, 36
	case 1:
		s.Red, s.Green, s.Blue = 44, 66, 120
	case 2:
		s.Red, s.Green, s.Blue, s.Reflectance, s.Gloss = 36, 36, 40, 24, 60
	case 3:
		s.Red, s.Green, s.Blue = 200, 200, 204
	default:
		s.Red, s.Green, s.Blue = 120, 124, 128
	}
	return s
}

// Car returns a car: a body and a cabin with sloping screens.
func Car(p solid.Point, ground, heading float64, dice *chance.Stream) Thing {
	length, width, height := dice.Between(3.8, 4.8), dice.Between(1.7, 1.9), dice.Between(1.4, 1.7)
	body := paint(dice)
	screen := body
	screen.Gloss, screen.Reflectance = 150, 60
	plan := solid.Rectangle(p, length, width, heading)
	cabin := solid.Rectangle(along(p, heading, -0.05*length, 0), 0.58*length, width-0.1, heading)
	front := solid.Rectangle(along(p, heading, -0.05*length, 0), 0.38*length, width-0.25, heading)
	return Thing{
		Kind: "car", Outline: plan, Height: height,
		Bodies: []solid.Body{
			solid.Block(plan, ground+0.2, ground+0.58*height, body),
			solid.Block(cabin, ground+0.5*height, ground+0.8*height, screen),
			solid.Block(front, ground+0.5*height, ground+height, body),
		},
	}
}

// Truck returns a lorry: a cab and a box on a frame.
func Truck(p solid.Point, ground, heading float64, dice *chance.Stream) Thing {
	length, height := dice.Between(8, 16), dice.Between(3.2, 4.0)
	const width = 2.5
	body := paint(dice)
	plan := solid.Rectangle(p, length, width, heading)
	cab := solid.Rectangle(along(p, heading, length/2-1, 0), 2, width-0.1, heading)
	box := solid.Rectangle(along(p, heading, -1.2, 0), length-2.4, width, heading)
	return Thing{
		Kind: "truck", Outline: plan, Height: height,
		Bodies: []solid.Body{
			solid.Block(cab, ground+0.5, ground+2.9, body),
			solid.Block(box, ground+1, ground+height, paint(dice)),
		},
	}
}

// Container returns stacked freight containers of 20 or 40 feet (ISO 668:
// 6.058 or 12.192 m by 2.438 by 2.591 m).
func Container(p solid.Point, ground, heading float64, dice *chance.Stream) Thing {
	length := 6.058
	if dice.Chance(0.5) {
		length = 12.192
	}
	height := 2.591 * float64(1+dice.Pick(2))
	plan := solid.Rectangle(p, length, 2.438, heading)
	s := paint(dice)
	s.Rough = 8
	return Thing{
		Kind: "container", Outline: plan, Height: height,
		Bodies: []solid.Body{solid.Block(plan, ground-0.1, ground+height, s)},
	}
}

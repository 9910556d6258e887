package layout

import (
	"math"

	"quoin/extract/scene/house"
	"quoin/extract/scene/solid"
	"quoin/extract/scene/yard"
)

// layDemo lays out the default block: a street up a slope with a house of each
// common form on either side, sheds, trees, hedges and parked cars.
func layDemo(s *Site) {
	s.relief = func(p solid.Point) float64 {
		return baseElevation + 0.055*p.X + 0.02*p.Y + 0.5*math.Sin(p.X/23+0.4)*math.Cos(p.Y/31)
	}
	street := house.Frame{Heading: 0.21}
	s.road(street, 400)
	plots := s.demoPlots()
	reach := s.High.X - 18
	perSide := (len(plots) + 1) / 2
	for i, p := range plots {
		row, side := i/2, 1-2*float64(i%2)
		u := reach * (2*(float64(row)+0.5)/float64(perSide) - 1)
		v := side * (roadWidth/2 + pathWidth + 5 + p.width/2 + s.dice.Between(0, 2))
		f := house.Frame{Origin: street.At(u, v), Heading: street.Heading + s.dice.Between(-0.06, 0.06)}
		if side < 0 {
			f.Heading += math.Pi
		}
		b := s.place(f, p)
		if p.design.Roof != house.Flat {
			s.furnish(b, f, p.wings[0])
		}
		s.lot(f, p, i)
	}
	s.garden(34, 40)
}

// demoPlots returns the demo's houses.
func (s *Site) demoPlots() []plot {
	return []plot{
		{"house", house.Plain(12, 9), s.pitchedDesign(house.Gable), 12, 9},
		{"house", house.Plain(11, 10), s.pitchedDesign(house.Hip), 11, 10},
		{"house", house.L(14, 8, 7, 5), s.pitchedDesign(house.Gable), 14, 17},
		{"house", house.Plain(13, 9.5), s.flatDesign(6.2), 13, 9.5},
		{"house", house.T(15, 8.5, 6.5, 4.5), s.pitchedDesign(house.Gable), 15, 17},
		{"house", house.L(13, 8, 6.5, 4.5), s.pitchedDesign(house.Hip), 13, 16},
		{"house", house.Plain(10, 8), s.pitchedDesign(house.Shed), 10, 8},
		{"house", house.U(16, 7.5, 5.5, 4.5), s.pitchedDesign(house.Gable), 16, 16},
		{"house", house.Plain(14, 10), s.pitchedDesign(house.Mansard), 14, 10},
		{"house", house.Plain(9, 9), s.pitchedDesign(house.Hip), 9, 9},
	}
}

// lot puts what belongs to a house around it: a car on the drive, a shed and a
// hedge behind.
func (s *Site) lot(f house.Frame, p plot, i int) {
	drive := f.At(p.length/2+2.6, -p.width/2+1)
	s.covers = append(s.covers, cover{house.Region{solid.Rectangle(drive, 3, 9, f.Heading)}, gravel})
	if s.free(drive, 2.4) {
		s.add(yard.Car(drive, s.ground(drive), f.Heading+math.Pi/2, s.dice))
	}
	if i%2 == 0 {
		at := f.At(-p.length/4, p.width/2+7+float64(i%3))
		if s.free(at, 3.2) {
			s.place(house.Frame{Origin: at, Heading: f.Heading + s.dice.Between(-0.1, 0.1)}, s.shed(4.2, 3))
		}
	}
	at := f.At(0, p.width/2+13)
	if s.free(at, 3.5) {
		s.add(yard.Hedge(solid.Rectangle(at, 7, 0.9, f.Heading), s.ground(at), s.dice.Between(1.2, 1.9), s.dice))
	}
}

// laySuburb lays out two streets of detached houses.
func laySuburb(s *Site) {
	s.relief = slope(0.02, 0.025)
	for k, v := range []float64{-24, 24} {
		street := house.Frame{Origin: solid.Point{Y: v}, Heading: 0.06}
		s.road(street, 300)
		for i := range 8 {
			row, side := i/2, 1-2*float64(i%2)
			kind := house.Gable
			if s.dice.Chance(0.4) {
				kind = house.Hip
			}
			p := plot{"house", house.Plain(s.dice.Between(9, 13), s.dice.Between(7.5, 9)), s.pitchedDesign(kind), 12, 8}
			if i == 3+k {
				p.wings, p.length = house.L(12, 7, 6, 2.5), 13
			}
			f := house.Frame{Origin: street.At(-34+22*float64(row)+s.dice.Between(-1.5, 1.5), side*11), Heading: street.Heading}
			b := s.place(f, p)
			s.furnish(b, f, p.wings[0])
			s.lot(f, p, i)
		}
	}
	s.garden(16, 30)
}

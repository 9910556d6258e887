package layout

import (
	"math"

	"quoin/extract/scene/house"
	"quoin/extract/scene/solid"
	"quoin/extract/scene/yard"
)

// layStreet lays out a street up a slope with a house of each common form on
// either side, sheds, trees, hedges and parked cars.
func layStreet(s *Site) {
	s.Relief = hillside(0.055, 0.02)
	street := house.Frame{Heading: 0.21}
	s.road(street, 400)
	s.line(street, s.forms(), s.High.X-18)
	s.garden(34, 40)
}

// hillside returns land that rises evenly, with swells a house high.
func hillside(east, north float64) func(solid.Point) float64 {
	return func(p solid.Point) float64 {
		return baseElevation + east*p.X + north*p.Y + 0.5*math.Sin(p.X/23+0.4)*math.Cos(p.Y/31)
	}
}

// line builds plots along both sides of a street, from reach before its middle
// to as far behind.
func (s *Site) line(street house.Frame, plots []plot, reach float64) {
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
		if p.design.Eave > 4.5 && s.dice.Chance(0.5) {
			b.Balcony(0, 2, 5, p.design.Overhang+s.dice.Between(0, 1), s.Elevation(f.Origin)+2.7, balcony)
		}
		s.lot(f, p, i)
	}
}

// layDemo lays out the default block, a village on a slope: a street of houses
// of many forms, a terrace of row houses, a school with a yard inside, a hall,
// gardens with trees, sheds and cars.
func layDemo(s *Site) {
	s.Relief = hillside(0.05, 0.03)
	upper := house.Frame{Origin: solid.Point{X: 0, Y: 42}, Heading: 0.21}
	lower := house.Frame{Origin: solid.Point{X: 0, Y: -50}, Heading: 0.14}
	s.road(upper, 500)
	s.road(lower, 500)
	plots := append(s.forms(), plot{"house", house.Plain(11, 9), s.pitchedDesign(house.Gable), 11, 9},
		plot{"house", house.Plain(12, 8), s.pitchedDesign(house.Hip), 12, 8},
		plot{"house", house.Cross(15, 8, 7, 4), s.pitchedDesign(house.Gable), 15, 16},
		plot{"house", house.L(12, 7.5, 6.5, 5), s.pitchedDesign(house.Gable), 12, 17})
	s.line(upper, plots, s.High.X-16)
	s.row(house.Frame{Origin: lower.At(-58, 15), Heading: lower.Heading}, terrace{6, 6.5, 10, 0.9, 0.5, house.Gable})
	school := house.Frame{Origin: lower.At(2, 24), Heading: lower.Heading}
	s.place(school, plot{"school", house.Court(30, 26, 8), s.pitchedDesign(house.Gable), 30, 26})
	s.hall(house.Frame{Origin: lower.At(58, 20), Heading: lower.Heading}, 38, 24,
		house.Design{Roof: house.Flat, Eave: 7, Parapet: 0.6, Look: level(s.dice)})
	s.tower(house.Frame{Origin: lower.At(-74, -19), Heading: lower.Heading})
	s.row(house.Frame{Origin: lower.At(-36, -16), Heading: lower.Heading + math.Pi}, terrace{4, 7.5, 9.5, 0.7, 0.8, house.Flat})
	s.bay(house.Frame{Origin: lower.At(2, -17), Heading: lower.Heading})
	s.stairs(house.Frame{Origin: lower.At(34, -19), Heading: lower.Heading + 0.2}, 3)
	last := house.Frame{Origin: lower.At(70, -18), Heading: lower.Heading}
	b := s.place(last, plot{"house", house.T(16, 8, 7, 5), s.pitchedDesign(house.Hip), 16, 18})
	s.overhanging(b)
	s.park(lower, 8)
	s.park(upper, 5)
	s.traffic(2, 3, 2)
	s.stockpiles(1)
	s.wood(30, 1)
	s.garden(50, 90)
}

// forms returns a house of each common form.
func (s *Site) forms() []plot {
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
	s.Lay(gravel, house.Region{solid.Rectangle(drive, 3, 9, f.Heading)})
	if s.free(drive, 2.4) {
		s.add(yard.Car(drive, s.Elevation(drive), f.Heading+math.Pi/2, s.dice))
	}
	if i%2 == 0 {
		at := f.At(-p.length/4, p.width/2+7+float64(i%3))
		if s.free(at, 3.2) {
			s.place(house.Frame{Origin: at, Heading: f.Heading + s.dice.Between(-0.1, 0.1)}, s.shed(4.2, 3))
		}
	}
	at := f.At(0, p.width/2+13)
	if s.free(at, 3.5) {
		s.add(yard.Hedge(solid.Rectangle(at, 7, 0.9, f.Heading), s.Elevation(at), s.dice.Between(1.2, 1.9), s.dice))
	}
}

// laySuburb lays out streets of detached houses, as many as the block holds.
func laySuburb(s *Site) {
	s.Relief = slope(0.02, 0.025)
	const deep, lot = 48.0, 22.0 // from street to street, and along it
	size := s.High.Sub(s.Low)
	streets, lots := max(1, int(size.Y/deep)), max(1, int((size.X-10)/lot))
	heading := min(0.06, 6/size.X) // the ends of a long street stay in the block
	for k := range streets {
		street := house.Frame{Origin: solid.Point{Y: (float64(k) - float64(streets-1)/2) * deep}, Heading: heading}
		s.road(street, 2*size.X+100)
		for i := range 2 * lots {
			row, side := i/2, 1-2*float64(i%2)
			kind := house.Gable
			if s.dice.Chance(0.4) {
				kind = house.Hip
			}
			p := plot{"house", house.Plain(s.dice.Between(9, 13), s.dice.Between(7.5, 9)), s.pitchedDesign(kind), 12, 8}
			if i%8 == 3+k%2 {
				p.wings, p.length = house.L(12, 7, 6, 2.5), 13
			}
			u := (float64(row)-float64(lots-1)/2)*lot + s.dice.Between(-1.5, 1.5)
			f := house.Frame{Origin: street.At(u, side*11), Heading: street.Heading}
			b := s.place(f, p)
			s.furnish(b, f, p.wings[0])
			s.lot(f, p, i)
		}
	}
	hectares := size.X * size.Y / 1e4
	s.garden(int(16*hectares), int(30*hectares))
}

package layout

import (
	"math"

	"quoin/extract/scene/house"
	"quoin/extract/scene/solid"
	"quoin/extract/scene/yard"
)

// A terrace is a row of houses that share party walls.
type terrace struct {
	count        int
	width, depth float64
	// step is the largest height step, jut the largest offset of a façade,
	// between two houses.
	step, jut float64
	roof      house.RoofKind
}

// row builds a terrace about a frame, the houses along its heading. Each has
// its own colour and its own height; the ridge runs along the row.
func (s *Site) row(f house.Frame, t terrace) {
	f.Ground = s.pad(f, float64(t.count)*t.width+1, t.depth+1+t.jut, 2.5)
	base := s.pitchedDesign(t.roof)
	base.Verge = 0
	if t.roof == house.Flat {
		base = house.Design{Roof: house.Flat, Eave: s.dice.Between(5.4, 6.2), Overhang: 0, Parapet: 0.35}
	}
	var last *house.Building
	for i := range t.count {
		d := base
		d.Look = pitched(s.dice)
		if t.roof == house.Flat {
			d.Look = level(s.dice)
		}
		lift, jut := 0.0, 0.0
		if i > 0 {
			lift, jut = s.stepOf(t.step), s.dice.Between(-t.jut, t.jut)
		}
		u := (float64(i) - float64(t.count-1)/2) * t.width
		wing := house.Wing{
			U: u, V: jut, Length: t.width, Width: t.depth, Lift: lift,
			Joined: [4]bool{1: i < t.count-1, 3: i > 0},
		}
		b := s.build("row house", d.Sections(f, wing))
		if t.roof != house.Flat && s.dice.Chance(0.6) {
			b.Chimney(f.At(u+0.3*t.width, jut+0.5), 0.6, f.Heading, 1.3, brick)
		}
		if last != nil {
			last.Neighbours = append(last.Neighbours, b.ID)
			b.Neighbours = append(b.Neighbours, last.ID)
		}
		last = b
	}
}

// stepOf draws a height step against the first house: from a hand to the
// largest, up or down.
func (s *Site) stepOf(most float64) float64 {
	return math.Copysign(s.dice.Between(0.1, most), s.dice.Between(-1, 1))
}

// layRows lays out streets of row houses.
func layRows(s *Site) {
	s.Relief = slope(0.012, -0.02)
	street := house.Frame{Heading: 0.5}
	s.road(street, 300)
	at := func(u, v float64) house.Frame {
		return house.Frame{Origin: street.At(u, v), Heading: street.Heading + 0.01*v/10}
	}
	s.row(at(-18, 16), terrace{5, 6.2, 10, 0.9, 0, house.Gable})
	s.row(at(22, 17), terrace{5, 5.8, 10.5, 0.6, 0.9, house.Gable})
	s.row(at(-20, -17), terrace{4, 7.5, 9, 1.2, 0.7, house.Flat})
	s.row(at(20, -16), terrace{4, 7, 9.5, 0.5, 0, house.Gable})
	s.row(at(0, -38), terrace{6, 6, 9, 0.7, 0.5, house.Gable})
	s.row(at(2, 40), terrace{2, 9, 10, 0, 0, house.Gable}) // a pair whose join nobody can see
	for i := range 6 {
		p := street.At(-30+12*float64(i), 27)
		if s.free(p, 2) {
			s.place(house.Frame{Origin: p, Heading: street.Heading}, s.shed(2.6, 2.1))
		}
	}
	s.garden(14, 20)
	s.park(street, 8)
}

// park leaves cars along a street.
func (s *Site) park(street house.Frame, cars int) {
	for i := range cars {
		side := 1 - 2*float64(i%2)
		u := (float64(i)-float64(cars)/2)*9 + s.dice.Between(-2, 2)
		p := street.At(u, side*(roadWidth/2-1.1))
		if p.X > s.Low.X+3 && p.X < s.High.X-3 && p.Y > s.Low.Y+3 && p.Y < s.High.Y-3 {
			s.add(yard.Car(p, s.Elevation(p), street.Heading, s.dice))
		}
	}
}

// slope returns land that rises evenly, with gentle swells.
func slope(east, north float64) func(solid.Point) float64 {
	return func(p solid.Point) float64 {
		return baseElevation + east*p.X + north*p.Y + 0.4*math.Sin(p.X/27+1)*math.Cos(p.Y/35)
	}
}

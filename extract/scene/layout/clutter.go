package layout

import (
	"math"

	"quoin/extract/scene/house"
	"quoin/extract/scene/land"
	"quoin/extract/scene/solid"
	"quoin/extract/scene/yard"
)

// layYard lays out a freight yard: two sheds among many trucks and containers.
func layYard(s *Site) {
	s.Relief = slope(0.004, 0.003)
	s.Lawn = asphalt
	a := house.Frame{Origin: solid.Point{X: s.Low.X + 16, Y: s.High.Y - 14}, Heading: 0.12}
	s.place(a, plot{"house", house.Plain(12, 7), s.flatDesign(3.3), 12, 7})
	b := house.Frame{Origin: solid.Point{X: s.High.X - 18, Y: s.Low.Y + 16}, Heading: 0.12}
	s.place(b, s.shed(4, 3))
	// Containers in rows, side by side, and in stacks.
	for row := range 3 {
		for i := range 7 {
			p := solid.Point{X: -22 + 2.9*float64(i) + s.dice.Between(-0.2, 0.2), Y: -18 + 15*float64(row)}
			s.add(yard.Container(p, s.Elevation(p), math.Pi/2+s.dice.Between(-0.01, 0.01), s.dice))
		}
	}
	s.traffic(16, 10, 10)
}

// layFair lays out a meadow by a stream with everything that looks like a
// building and is none, and a few that are.
func layFair(s *Site) {
	const bed, deep = 8.0, 4.5
	s.Relief = func(p solid.Point) float64 {
		// A stream runs east in a cutting.
		u := math.Abs(p.Y+24-2*math.Sin(p.X/25)) - bed/2
		return baseElevation + 0.006*p.X - deep*(1-land.Smooth(u/6))
	}
	s.Lawn = meadow
	s.stream(bed)
	from, to := solid.Point{X: -6, Y: -37}, solid.Point{X: -2, Y: -11}
	s.Lay(gravel, house.Region{solid.Rectangle(from, 6, 8, 1.4)}, house.Region{solid.Rectangle(to, 6, 8, 1.4)})
	s.add(yard.Bridge(from, to, [2]float64{s.Elevation(from) + 0.05, s.Elevation(to) + 0.05}, 6))
	for i := range 6 {
		f := house.Frame{Origin: solid.Point{X: s.Low.X + 14 + 15*float64(i), Y: 6 + 3*float64(i%2)}, Heading: s.dice.Between(0, 0.4)}
		if s.free(f.Origin, 6) {
			s.add(yard.Tent(f.Origin, s.Elevation(f.Origin), f.Heading, s.dice.Between(6, 11), s.dice.Between(4, 7)))
		}
	}
	s.few()
	var masts []solid.Vec
	for _, x := range []float64{s.Low.X - 4, -12, 26, s.High.X + 4} {
		p := solid.Point{X: x, Y: 22 + 0.05*x}
		masts = append(masts, p.Up(s.Elevation(p)))
	}
	s.add(yard.PowerLine(masts, 11))
	s.barriers()
	s.stockpiles(2)
	for _, at := range []solid.Point{{X: 34, Y: 38}, {X: 42, Y: 30}} {
		if s.free(at, 3) {
			s.add(yard.Pool(at, s.Elevation(at), 2.4, 0.15+0.9*float64(s.dice.Pick(2))))
		}
	}
	s.garden(18, 30)
	s.traffic(2, 5, 1)
}

// stream covers the bed with water.
func (s *Site) stream(bed float64) {
	var left, right []solid.Point
	for x := s.Low.X - apron; x <= s.High.X+apron; x += 5 {
		y := -24 + 2*math.Sin(x/25)
		right = append(right, solid.Point{X: x, Y: y - bed/2 + 0.4})
		left = append(left, solid.Point{X: x, Y: y + bed/2 - 0.4})
	}
	bank := house.Region{append(right, reversed(left)...)}
	s.Lay(water, bank)
	s.taken.Region(bank, 3)
}

// few builds the fair's real buildings: a house, a shed, a carport.
func (s *Site) few() {
	f := house.Frame{Origin: solid.Point{X: -30, Y: 36}, Heading: 0.3}
	s.place(f, plot{"house", house.Plain(11, 8), s.pitchedDesign(house.Gable), 11, 8})
	g := house.Frame{Origin: solid.Point{X: -14, Y: 38}, Heading: 0.3}
	s.place(g, s.shed(3.2, 2.4))
	h := house.Frame{Origin: solid.Point{X: 14, Y: 36}, Heading: 0.2}
	h.Ground = s.pad(h, 7, 7, 2)
	port := house.Design{Roof: house.Flat, Eave: 2.6, Look: house.Look{Roof: bitumen, Wall: boards, Trim: trim}}
	sections := port.Sections(h, house.Plain(6, 5.5)...)
	sections[0].Posts = true
	s.build("carport", sections)
}

// barriers puts up fences and walls.
func (s *Site) barriers() {
	for i := range 6 {
		from := solid.Point{X: s.Low.X + 8 + 15*float64(i), Y: 15}
		to := from.Add(solid.Point{X: 12, Y: s.dice.Between(-1, 1)})
		ground := [2]float64{s.Elevation(from), s.Elevation(to)}
		if i%2 == 0 {
			s.add(yard.Fence(from, to, ground, 1.8))
			continue
		}
		s.add(yard.Wall(from, to, ground, 2.2, 0.4))
	}
}

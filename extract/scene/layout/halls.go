package layout

import (
	"math"

	"quoin/extract/scene/house"
	"quoin/extract/scene/solid"
	"quoin/extract/scene/yard"
)

// layHalls lays out flat halls, one as long as the block allows, with
// parapets, plant and roof lights, between paved yards.
func layHalls(s *Site) {
	s.Relief = slope(0.006, 0.004)
	s.Lawn = paving
	f := house.Frame{Origin: solid.Point{X: -2, Y: 22}, Heading: 0.12}
	size := s.High.X - s.Low.X
	s.hall(f, size*0.8, 40, house.Design{Roof: house.Flat, Eave: 9, Parapet: 0.8, Look: level(s.dice)})
	g := house.Frame{Origin: solid.Point{X: -30, Y: -28}, Heading: 0.12}
	s.hall(g, 38, 26, house.Design{Roof: house.Flat, Eave: 6.5, Look: level(s.dice)})
	// A hall with a lower part built onto it.
	h := house.Frame{Origin: solid.Point{X: 24, Y: -26}, Heading: 0.3}
	d := house.Design{Roof: house.Flat, Eave: 8.5, Look: level(s.dice)}
	s.place(h, plot{"hall", []house.Wing{
		{Length: 30, Width: 22}, {U: 20, V: -3, Length: 10, Width: 12, Lift: -4, Joined: [4]bool{3: true}},
	}, d, 30, 22})
	s.traffic(7, 4, 0)
}

// hall builds a hall and puts plant, roof lights and panels on it.
func (s *Site) hall(f house.Frame, length, width float64, d house.Design) {
	f.Ground = s.pad(f, length+2, width+2, 3)
	b := s.build("hall", d.Sections(f, house.Plain(length, width)...))
	for range int(length * width / 300) {
		u, v := s.dice.Between(-0.42, 0.42)*length, s.dice.Between(-0.4, 0.4)*width
		switch s.dice.Pick(3) {
		case 0:
			b.Machine(f.At(u, v), s.dice.Between(1.5, 4), s.dice.Between(1.2, 2.4), f.Heading, s.dice.Between(0.8, 2.2), machine)
		case 1:
			b.Panels(f.At(u, v), 3, 1.5, f.Heading, 0.3, window)
		default:
			b.Panels(f.At(u, v), 6, 2, f.Heading, 0.35, panel)
		}
	}
	if d.Look.Roof == greenTop {
		for range 8 {
			p := f.At(s.dice.Between(-0.4, 0.4)*length, s.dice.Between(-0.4, 0.4)*width)
			s.Things = append(s.Things, yard.Shrub(p, f.Ground+d.Eave, s.dice.Between(0.4, 0.9), s.dice.Between(0.4, 0.8), s.dice))
		}
	}
}

// traffic leaves trucks, cars and containers where there is room.
func (s *Site) traffic(trucks, cars, containers int) {
	leave := func(n int, room float64, put func(solid.Point, float64)) {
		for range 60 * n {
			if n == 0 {
				return
			}
			p := solid.Point{X: s.dice.Between(s.Low.X, s.High.X), Y: s.dice.Between(s.Low.Y, s.High.Y)}
			if s.free(p, room) {
				put(p, 0.12+math.Pi/2*float64(s.dice.Pick(4))+s.dice.Between(-0.05, 0.05))
				n--
			}
		}
	}
	leave(trucks, 8.2, func(p solid.Point, h float64) { s.add(yard.Truck(p, s.Elevation(p), h, s.dice)) })
	leave(containers, 6.4, func(p solid.Point, h float64) { s.add(yard.Container(p, s.Elevation(p), h, s.dice)) })
	leave(cars, 2.6, func(p solid.Point, h float64) { s.add(yard.Car(p, s.Elevation(p), h, s.dice)) })
}

// layWorks lays out an industrial site: saw-tooth, vault, dome, glass roof,
// tanks, stockpiles, a crane.
func layWorks(s *Site) {
	s.Relief = slope(0.008, -0.006)
	s.Lawn = gravel
	s.sawtooth(house.Frame{Origin: solid.Point{X: -24, Y: 26}, Heading: 0.2}, 4, 26, 6)
	v := house.Frame{Origin: solid.Point{X: 22, Y: 28}, Heading: 0.2 + math.Pi/2}
	v.Ground = s.pad(v, 28, 18, 2)
	s.keep(house.Vault(s.nextID(), v, 26, 16, 5, 4, house.Look{Roof: metal, Wall: render, Trim: trim}), nil)
	for i, at := range []solid.Point{{X: -36, Y: -20}, {X: -22, Y: -24}, {X: -33, Y: -36}} {
		ground := s.levelled(solid.Rectangle(at, 14, 14, 0), 2)
		tank := house.Round{
			ID: s.nextID(), Kind: "tank", Centre: at, Radius: s.dice.Between(3, 6), Base: ground - 2, Eave: ground + 7,
			Top: ground + 7, Look: house.Look{Roof: metal, Wall: metalWall, Trim: metal}, Dome: true,
		}
		tank.Top += float64(i) * 1.1
		s.keep(tank.Build(), nil)
	}
	g := house.Frame{Origin: solid.Point{X: 4, Y: -22}, Heading: 0.2}
	glassy := s.pitchedDesign(house.Gable)
	glassy.Look, glassy.Eave, glassy.Overhang = house.Look{Roof: glass, Wall: render, Trim: trim}, 3, 0.1
	s.place(g, plot{"glasshouse", house.Plain(18, 9), glassy, 18, 9})
	s.dome(solid.Point{X: 30, Y: -24})
	s.stockpiles(3)
	p := solid.Point{X: 2, Y: 6}
	s.add(yard.Crane(p, s.Elevation(p), 0.7, 24, 22, s.dice))
	s.traffic(3, 3, 2)
}

// sawtooth builds a hall of sheds side by side, each rising to a glazed front.
func (s *Site) sawtooth(f house.Frame, teeth int, length, width float64) {
	f.Ground = s.pad(f, length+1, width*float64(teeth)+1, 2)
	d := house.Design{Roof: house.Shed, Pitch: 0.42, Eave: 5, Look: house.Look{Roof: metal, Wall: render, Trim: trim}}
	var wings []house.Wing
	for i := range teeth {
		wings = append(wings, house.Wing{V: (float64(i) - float64(teeth-1)/2) * width, Length: length, Width: width})
	}
	b := s.build("hall", d.Sections(f, wings...))
	b.Roof = "sawtooth"
}

// dome builds a round hall under a dome.
func (s *Site) dome(at solid.Point) {
	ground := s.levelled(solid.Rectangle(at, 22, 22, 0), 2)
	s.keep(house.Round{
		ID: s.nextID(), Kind: "hall", Centre: at, Radius: 9, Overhang: 0.3, Base: ground - 2, Eave: ground + 4.5,
		Top: ground + 9.5, Dome: true, Look: house.Look{Roof: metal, Wall: render, Trim: trim},
	}.Build(), nil)
}

// stockpiles heaps up material where there is room: smooth, but rough at the
// edge and sloping down to the ground.
func (s *Site) stockpiles(n int) {
	for range 80 * n {
		p := solid.Point{X: s.dice.Between(s.Low.X, s.High.X), Y: s.dice.Between(s.Low.Y, s.High.Y)}
		radius, height := s.dice.Between(0.6, 1.5), s.dice.Between(2.2, 3.4)
		if n == 0 {
			return
		}
		if bank := height * 1.3; s.free(p, radius+bank) {
			core := solid.Rectangle(p, 2*radius, radius, s.dice.Between(0, math.Pi))
			s.Heap(house.Region{core}, height, bank)
			foot := house.Offset(core, []float64{0.8 * bank, 0.8 * bank, 0.8 * bank, 0.8 * bank})
			s.Lay(heap, house.Region{foot})
			s.add(yard.Thing{Kind: "stockpile", Outline: foot, Height: height})
			n--
		}
	}
}

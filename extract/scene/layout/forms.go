package layout

import (
	"math"

	"quoin/extract/scene/house"
	"quoin/extract/scene/solid"
)

// layWings lays out one building of each composed plan: L, T, U, cross, comb,
// stairs.
func layWings(s *Site) {
	s.Relief = slope(-0.02, 0.015)
	forms := []struct {
		wings         []house.Wing
		length, width float64
	}{
		{house.L(15, 8, 7, 6), 15, 20},
		{house.T(16, 8, 7, 6), 16, 20},
		{house.U(18, 8, 6, 6), 18, 20},
		{house.Cross(18, 8, 7, 5), 18, 18},
		{house.Comb(26, 7, 5, 6, 3), 26, 19},
		{house.L(12, 7, 6, 5), 12, 17},
	}
	roofs := []house.RoofKind{house.Gable, house.Hip, house.Flat}
	for i, form := range forms {
		d := s.pitchedDesign(roofs[s.dice.Pick(2)])
		if i%3 == 2 {
			d = house.Design{Roof: house.Flat, Eave: s.dice.Between(3.2, 7), Overhang: 0.3, Verge: 0.3, Look: level(s.dice)}
		}
		f := s.cell(i, [2]int{3, 3})
		s.place(f, plot{"house", form.wings, d, form.length, form.width})
	}
	s.stairs(s.cell(6, [2]int{3, 3}), 4)
	s.place(s.cell(7, [2]int{3, 3}), plot{"house", house.Cross(20, 9, 6, 3.5), s.pitchedDesign(house.Gable), 20, 16})
	s.place(s.cell(8, [2]int{3, 3}), plot{"house", house.U(16, 7, 6, 8), s.pitchedDesign(house.Gable), 16, 24})
	s.garden(10, 20)
}

// cell returns the frame of a cell of the block, turned at random and a little
// off its middle.
func (s *Site) cell(i int, cells [2]int) house.Frame {
	size := s.High.Sub(s.Low)
	col, row := i%cells[0], i/cells[0]
	return house.Frame{
		Origin: solid.Point{
			X: s.Low.X + size.X*(float64(col)+0.5)/float64(cells[0]) + s.dice.Between(-1.5, 1.5),
			Y: s.Low.Y + size.Y*(float64(row)+0.5)/float64(cells[1]) + s.dice.Between(-1.5, 1.5),
		},
		Heading: s.dice.Between(0, 2*math.Pi),
	}
}

// stairs builds a flat block whose outline goes up in steps.
func (s *Site) stairs(f house.Frame, steps int) {
	const run, rise, deep = 5.0, 2.5, 9.0
	var plan []solid.Point
	n := float64(steps)
	plan = append(plan, f.At(-n*run/2, -deep), f.At(n*run/2, -deep))
	for i := steps - 1; i >= 0; i-- {
		v := rise * float64(i)
		plan = append(plan, f.At((float64(i)+1-n/2)*run, v), f.At((float64(i)-n/2)*run, v))
	}
	ground := s.levelled(plan, 2)
	s.outline(house.Free{
		Walls: house.Region{plan}, Kind: "block", Roof: house.Flat, Base: ground - 3, Eave: ground + 6.4,
		Parapet: 0.5, Look: level(s.dice),
	})
}

// layCourts lays out buildings around courtyards.
func layCourts(s *Site) {
	s.Relief = slope(0.01, 0)
	a := s.cell(0, [2]int{2, 2})
	s.place(a, plot{"house", house.Court(26, 24, 7.5), s.pitchedDesign(house.Gable), 26, 24})
	b := s.cell(1, [2]int{2, 2})
	s.place(b, plot{"house", house.Court(22, 20, 6.5), s.pitchedDesign(house.Hip), 22, 20})
	s.nested(s.cell(2, [2]int{2, 2}))
	s.courts(s.cell(3, [2]int{2, 2}))
	s.garden(8, 16)
}

// reversed returns a ring the other way round: a hole.
func reversed(ring []solid.Point) []solid.Point {
	out := make([]solid.Point, len(ring))
	for i, p := range ring {
		out[len(ring)-1-i] = p
	}
	return out
}

// nested builds a block around a courtyard in which a smaller one stands
// around its own.
func (s *Site) nested(f house.Frame) {
	square := func(length, width float64) []solid.Point {
		return solid.Rectangle(f.Origin, length, width, f.Heading)
	}
	ground := s.levelled(square(33, 32), 2)
	flat := house.Free{Kind: "block", Roof: house.Flat, Base: ground - 3, Eave: ground + 9, Parapet: 0.4, Look: level(s.dice)}
	flat.Walls = house.Region{square(33, 32), reversed(square(23, 22))}
	s.outline(flat)
	flat.Walls, flat.Eave, flat.Look = house.Region{square(14, 13), reversed(square(6.5, 5))}, ground+5, level(s.dice)
	s.outline(flat)
}

// courts builds a block with two courtyards, one of them with a jog.
func (s *Site) courts(f house.Frame) {
	ring := func(uv ...float64) []solid.Point {
		var out []solid.Point
		for i := 0; i < len(uv); i += 2 {
			out = append(out, f.At(uv[i], uv[i+1]))
		}
		return out
	}
	outer := ring(-19, -11, 19, -11, 19, 11, 8, 11, 8, 14, -19, 14)
	ground := s.levelled(outer, 2)
	s.outline(house.Free{
		Walls: house.Region{outer, ring(-13, -5, -13, 7, -3, 7, -3, 2, -5, 2, -5, -5), ring(3, -5, 3, 5, 13, 5, 13, -5)},
		Kind:  "block", Roof: house.Flat, Base: ground - 3, Eave: ground + 7.5, Overhang: 0.25, Look: level(s.dice),
	})
}

// laySkew lays out buildings that are not all right angles: skewed walls,
// bays, round towers, apses.
func laySkew(s *Site) {
	s.Relief = slope(0.015, 0.02)
	for i, skew := range []float64{1.5, 4, 9, 18} {
		f := s.cell(i, [2]int{3, 3})
		lean := 11 * math.Tan(skew*math.Pi/180)
		plan := []solid.Point{f.At(-8, -5.5), f.At(8, -5.5), f.At(8-lean, 5.5), f.At(-8, 5.5)}
		ground := s.levelled(plan, 2)
		d := house.Free{
			Walls: house.Region{plan}, Kind: "house", Roof: house.Gable, Base: ground - 3, Eave: ground + 5, Overhang: 0.3,
			Heading: f.Heading, Pitch: 0.5, Look: pitched(s.dice),
		}
		if i%2 == 1 {
			d.Roof, d.Overhang, d.Parapet, d.Look = house.Flat, 0, 0.4, level(s.dice)
		}
		s.outline(d)
	}
	s.bay(s.cell(4, [2]int{3, 3}))
	s.tower(s.cell(5, [2]int{3, 3}))
	s.polygonal(s.cell(6, [2]int{3, 3}), 8, 6)
	s.polygonal(s.cell(7, [2]int{3, 3}), 5, 7)
	s.tower(s.cell(8, [2]int{3, 3}))
	s.garden(10, 20)
}

// bay builds a house with a bay of slanting sides under its own roof.
func (s *Site) bay(f house.Frame) {
	f.Ground = s.pad(f, 15, 12, 2)
	d := s.pitchedDesign(house.Gable)
	sections := d.Sections(f, house.Plain(13, 9)...)
	v := -4.5
	sections = append(sections, house.Section{
		Plan: []solid.Point{f.At(-2.2, v-1.3), f.At(-0.2, v-1.3), f.At(1, v+0.2), f.At(-3.4, v+0.2)},
		Roof: house.Flat, Base: f.Ground - 4, Eave: f.Ground + d.Eave + 0.35, Overhang: []float64{0.1, 0.1, 0.1, 0.1}, Look: d.Look,
	})
	s.build("house", sections)
}

// tower builds a house with a round tower at a corner.
func (s *Site) tower(f house.Frame) {
	f.Ground = s.pad(f, 16, 13, 2)
	d := s.pitchedDesign(house.Hip)
	main, err := house.Build(s.nextID(), "house", d.Sections(f, house.Plain(14, 10)...))
	if err != nil {
		s.keep(nil, err)
		return
	}
	round := house.Round{
		ID: main.ID, Kind: "tower", Centre: f.At(6.2, 4.2), Radius: s.dice.Between(2, 3), Overhang: 0.3,
		Base: f.Ground - 4, Eave: f.Ground + d.Eave + 3, Look: d.Look,
	}
	round.Top = round.Eave + 1.3*round.Radius
	s.keep(house.Merge(main, round.Build()))
}

// polygonal builds a pavilion with a regular plan.
func (s *Site) polygonal(f house.Frame, sides int, radius float64) {
	var plan []solid.Point
	over := make([]float64, sides)
	for i := range sides {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / float64(sides))
		plan = append(plan, f.At(radius*cos, radius*sin))
		over[i] = 0.4
	}
	ground := s.levelled(plan, 2)
	s.build("pavilion", []house.Section{{
		Plan: plan, Overhang: over, Roof: house.Hip, Pitch: 0.5, Base: ground - 3, Eave: ground + 3.4, Look: pitched(s.dice),
	}})
}

package layout

import (
	"math"

	"quoin/extract/scene/house"
	"quoin/extract/scene/solid"
	"quoin/extract/scene/yard"
)

// layForest lays out a wood on uneven land, with no building in it.
func layForest(s *Site) {
	s.Relief = func(p solid.Point) float64 {
		return baseElevation + 0.12*p.X + 2.2*math.Sin(p.X/17)*math.Cos(p.Y/21) + 0.3*math.Sin(p.X/4.1+p.Y/5.3)
	}
	s.Lawn = litter
	s.wood(int((s.High.X-s.Low.X)*(s.High.Y-s.Low.Y)/32), 0.7)
	s.garden(0, 60)
	for i := range 4 {
		f := s.cell(i, [2]int{2, 2})
		if s.free(f.Origin, 1) {
			s.add(yard.Hedge(solid.Rectangle(f.Origin, 9, 1.4, f.Heading), s.Elevation(f.Origin), 2.6, s.dice))
		}
	}
}

// wood plants trees whose crowns may touch: closeness is the share of their
// radii that they keep for themselves.
func (s *Site) wood(n int, closeness float64) {
	for range 12 * n {
		if n == 0 {
			return
		}
		p := solid.Point{X: s.dice.Between(s.Low.X, s.High.X), Y: s.dice.Between(s.Low.Y, s.High.Y)}
		r := s.dice.Between(2, 4.2)
		if !s.free(p, closeness*r) {
			continue
		}
		t := yard.Broadleaf(p, s.Elevation(p), r*s.dice.Between(3, 4.4), r, s.dice)
		if s.dice.Chance(0.45) {
			t = yard.Conifer(p, s.Elevation(p), r*s.dice.Between(4.5, 6), 0.8*r, s.dice)
		}
		s.Things = append(s.Things, t)
		s.taken.Circle(p, closeness*r)
		n--
	}
}

// layGardens lays out houses among old trees, some of which hang over the
// roofs, and tall clipped hedges.
func layGardens(s *Site) {
	s.Relief = slope(0.03, -0.02)
	roofs := []house.RoofKind{house.Gable, house.Hip, house.Flat, house.Gable}
	for i := range 9 {
		f := s.cell(i, [2]int{3, 3})
		d := s.pitchedDesign(roofs[i%4])
		if roofs[i%4] == house.Flat {
			d = s.flatDesign(3.4)
		}
		p := plot{"house", house.Plain(s.dice.Between(9, 14), s.dice.Between(8, 10)), d, 14, 10}
		b := s.place(f, p)
		if d.Roof != house.Flat {
			s.furnish(b, f, p.wings[0])
		}
		if i%3 != 2 {
			s.overhanging(b)
		}
		at := f.At(0, 11)
		if s.free(at, 1.5) {
			s.add(yard.Hedge(solid.Rectangle(at, 12, 1.2, f.Heading), s.Elevation(at), s.dice.Between(1.6, 2.8), s.dice))
		}
	}
	for i := range 6 {
		f := s.cell(i, [2]int{3, 2})
		if s.free(f.Origin, 2.6) {
			s.place(f, s.shed(3.2, 2.6))
		}
	}
	s.wood(60, 1)
	s.garden(0, 40)
}

// overhanging plants a tree beside a building so that its crown hides about a
// tenth of the roof edge.
func (s *Site) overhanging(b *house.Building) {
	if len(b.RoofEdge) == 0 {
		return
	}
	ring := b.RoofEdge[0]
	i := s.dice.Pick(len(ring))
	d := ring[(i+1)%len(ring)].Sub(ring[i])
	out := solid.Point{X: d.Y, Y: -d.X}.Scale(1 / d.Length())
	radius := s.dice.Between(2.4, 3.4)
	p := ring[i].Add(d.Scale(s.dice.Between(0.1, 0.9))).Add(out.Scale(radius * s.dice.Between(0.4, 0.7)))
	height := b.Eave - s.Elevation(p) + s.dice.Between(4, 7)
	s.Things = append(s.Things, yard.Broadleaf(p, s.Elevation(p), height, radius, s.dice))
	s.taken.Circle(p, radius)
}

// layHillside lays out houses on a slope of up to 30 degrees: on terraces with
// retaining walls, and dug in so that the ground meets the eave.
func layHillside(s *Site) {
	s.Relief = func(p solid.Point) float64 {
		return baseElevation + 0.46*p.Y + 2.5*math.Sin(p.X/31) + 1.2*math.Sin(p.Y/13+p.X/40)
	}
	s.Lawn = meadow
	size := s.High.Sub(s.Low)
	for i := range 4 {
		f := house.Frame{Origin: solid.Point{X: s.Low.X + size.X*(0.14+0.24*float64(i)), Y: s.Low.Y + 0.22*size.Y}}
		f.Heading = s.dice.Between(-0.15, 0.15)
		s.terraceHouse(f)
	}
	for i := range 3 {
		f := house.Frame{Origin: solid.Point{X: s.Low.X + size.X*(0.2+0.3*float64(i)), Y: s.Low.Y + 0.55*size.Y}}
		f.Heading = s.dice.Between(-0.2, 0.2)
		s.dugIn(f)
	}
	for i := range 3 {
		f := house.Frame{Origin: solid.Point{X: s.Low.X + size.X*(0.2+0.3*float64(i)), Y: s.Low.Y + 0.82*size.Y}}
		f.Heading = s.dice.Between(0, math.Pi)
		s.place(f, plot{"house", house.Plain(10, 8), s.pitchedDesign(house.Gable), 10, 8})
	}
	s.garden(20, 40)
}

// terraceHouse cuts a terrace with a retaining wall and builds on it.
func (s *Site) terraceHouse(f house.Frame) {
	shelf := solid.Rectangle(f.Origin, 19, 14, f.Heading)
	s.Level(house.Region{shelf}, s.Elevation(f.Origin), 0.3)
	f.Ground = s.Elevation(f.Origin)
	d := s.pitchedDesign(house.Gable)
	s.build("house", d.Sections(f, house.Plain(12, 8.5)...))
}

// dugIn builds a house into the slope: the eave uphill is a hand above the
// ground.
func (s *Site) dugIn(f house.Frame) {
	const length, width = 11, 8.5
	uphill := math.Inf(-1)
	for _, u := range []float64{-length / 2, 0, length / 2} {
		uphill = max(uphill, s.Elevation(f.At(u, width/2+0.4)))
	}
	f.Ground = s.Elevation(f.At(0, -width/2))
	d := s.pitchedDesign(house.Gable)
	d.Eave, d.Overhang = uphill+s.dice.Between(0.3, 0.8)-f.Ground, 0.3
	s.build("house", d.Sections(f, house.Plain(length, width)...))
}

package layout

import (
	"math"

	"quoin/extract/scene/house"
	"quoin/extract/scene/solid"
	"quoin/extract/scene/yard"
)

// Road and kerb, in metres.
const (
	roadWidth  = 5.5
	kerbHeight = 0.12
	pathWidth  = 1.6
)

// road lays a straight road with kerbs and footpaths through the block.
func (s *Site) road(f house.Frame, length float64) {
	strip := func(v, width float64) house.Region {
		return house.Region{solid.Rectangle(f.At(0, v), length, width, f.Heading)}
	}
	s.Heap(strip(0, roadWidth), -kerbHeight, 0.1)
	side := (roadWidth + pathWidth) / 2
	s.Lay(paving, strip(-side, pathWidth), strip(side, pathWidth))
	s.Lay(asphalt, strip(0, roadWidth))
	s.taken.Region(strip(0, roadWidth+2*pathWidth), 0.3)
}

// A plot is a building to be put on a lot.
type plot struct {
	kind   string
	wings  []house.Wing
	design house.Design
	// length and width are the size of its pad.
	length, width float64
}

// place builds a plot in a frame whose ground follows the land.
func (s *Site) place(f house.Frame, p plot) *house.Building {
	f.Ground = s.pad(f, p.length+1, p.width+1, 2.5)
	return s.build(p.kind, p.design.Sections(f, p.wings...))
}

// pitchedDesign draws a design with a pitched roof.
func (s *Site) pitchedDesign(kind house.RoofKind) house.Design {
	d := house.Design{
		Roof: kind, Pitch: s.dice.Between(26, 44) * math.Pi / 180, Eave: s.dice.Between(2.9, 5.6),
		Overhang: s.dice.Between(0.25, 0.65), Verge: s.dice.Between(0, 0.4), Gutter: 0.12, Look: pitched(s.dice),
	}
	if kind == house.Mansard {
		d.Pitch, d.Overhang = 0.35, 0.2
	}
	return d
}

// flatDesign draws a design with a flat roof, with or without a parapet.
func (s *Site) flatDesign(eave float64) house.Design {
	d := house.Design{Roof: house.Flat, Eave: eave, Look: level(s.dice)}
	if s.dice.Chance(0.5) {
		d.Parapet = s.dice.Between(0.3, 0.9)
	} else {
		d.Overhang, d.Verge = 0.3, 0.3
	}
	return d
}

// shed returns a small building of the given size.
func (s *Site) shed(length, width float64) plot {
	d := house.Design{
		Roof: house.Shed, Pitch: 8 * math.Pi / 180, Eave: 2.1, Overhang: 0.15, Verge: 0.1,
		Look: house.Look{Roof: metal, Wall: boards, Trim: trim},
	}
	if s.dice.Chance(0.5) {
		d.Roof, d.Pitch, d.Look.Roof = house.Gable, 22*math.Pi/180, bitumen
	}
	return plot{"shed", house.Plain(length, width), d, length, width}
}

// furnish puts chimneys, roof windows and panels on a pitched roof.
func (s *Site) furnish(b *house.Building, f house.Frame, w house.Wing) {
	if s.dice.Chance(0.8) {
		b.Chimney(f.At(w.Length*s.dice.Between(-0.3, 0.3), 0.4), 0.7, f.Heading, s.dice.Between(1.2, 2), brick)
	}
	side := [2]float64{-1, 1}[s.dice.Pick(2)]
	switch s.dice.Pick(3) {
	case 0:
		b.Panels(f.At(0, side*w.Width*0.24), w.Length*0.45, w.Width*0.25, f.Heading, 0.14, panel)
	case 1:
		b.Panels(f.At(w.Length*0.2, side*w.Width*0.25), 0.9, 1.2, f.Heading, 0.04, window)
	default:
		b.Dormer(f.At(-w.Length*0.18, side*w.Width*0.22), 2, 2.2, f.Heading+side*math.Pi/2, 1.3, b.Look())
	}
}

// garden strews trees and shrubs where there is room.
func (s *Site) garden(trees, shrubs int) {
	tries := func(n int, radius func() float64, put func(solid.Point, float64)) {
		for range 40 * n {
			if n == 0 {
				return
			}
			p := solid.Point{X: s.dice.Between(s.Low.X, s.High.X), Y: s.dice.Between(s.Low.Y, s.High.Y)}
			if r := radius(); s.free(p, r) {
				put(p, r)
				n--
			}
		}
	}
	tries(trees, func() float64 { return s.dice.Between(1.4, 3.4) }, func(p solid.Point, r float64) {
		h := r * s.dice.Between(2.4, 3.2)
		if s.dice.Chance(0.3) {
			s.add(yard.Conifer(p, s.Elevation(p), 1.4*h, 0.7*r, s.dice))
			return
		}
		s.add(yard.Broadleaf(p, s.Elevation(p), h, r, s.dice))
	})
	tries(shrubs, func() float64 { return s.dice.Between(0.3, 1) }, func(p solid.Point, r float64) {
		s.add(yard.Shrub(p, s.Elevation(p), r*s.dice.Between(1, 1.8), r, s.dice))
	})
}

package house

import (
	"math"

	"quoin/extract/scene/solid"
)

// A Frame is where a building stands: its middle, the heading of its length
// from east, and the elevation its heights count from.
type Frame struct {
	Origin  solid.Point
	Heading float64
	Ground  float64
}

// At returns the place u along and v to the left of the frame's heading.
func (f Frame) At(u, v float64) solid.Point {
	s, c := math.Sincos(f.Heading)
	return f.Origin.Add(solid.Point{X: u*c - v*s, Y: u*s + v*c})
}

// A Design is what the sections of a building have in common.
type Design struct {
	Roof  RoofKind
	Pitch float64
	// Eave is the height of the lower roof edge above the frame's ground.
	Eave float64
	// Overhang is that of the eaves, Verge that of gable ends.
	Overhang, Verge, Gutter float64
	Parapet                 float64
	Look                    Look
}

// A Wing is a rectangle of a building in its frame: length along its ridge,
// turned by Turn from the frame's heading.
type Wing struct {
	U, V, Length, Width float64
	Turn                float64
	// Joined marks the sides that meet another section and have no overhang:
	// 0 right of the ridge, 1 its far end, 2 left, 3 its near end.
	Joined [4]bool
	// Lift raises the eave against that of the design.
	Lift float64
	// Roof replaces the design's when it is not empty.
	Roof RoofKind
}

// Sections returns the sections of the wings in a frame.
func (d Design) Sections(f Frame, wings ...Wing) []Section {
	if len(wings) > 1 && d.Overhang > 0 {
		// Where an eave and a verge share a wall line, they end in one line.
		d.Verge = d.Overhang + d.Gutter
	}
	var sections []Section
	for _, w := range wings {
		roof := d.Roof
		if w.Roof != "" {
			roof = w.Roof
		}
		s := Section{
			Plan: solid.Rectangle(f.At(w.U, w.V), w.Length, w.Width, f.Heading+w.Turn), Gutter: d.Gutter,
			Roof: roof, Pitch: d.Pitch, Base: f.Ground - 9, Eave: f.Ground + d.Eave + w.Lift,
			Parapet: d.Parapet, Look: d.Look, Overhang: make([]float64, 4),
		}
		for i := range s.Overhang {
			switch {
			case w.Joined[i]:
			case drains(roof, i):
				s.Overhang[i] = d.Overhang
			default:
				s.Overhang[i] = d.Verge
			}
		}
		sections = append(sections, s)
	}
	return sections
}

// Plain returns the wing of a rectangular building.
func Plain(length, width float64) []Wing { return []Wing{{Length: length, Width: width}} }

// quarter turns a wing across the frame's heading.
const quarter = math.Pi / 2

// branch returns a wing across the main one, from its ridge line at u outwards
// to reach beyond its wall; side is 1 for left and -1 for right.
func branch(u, width, mainWidth, reach, side float64) Wing {
	length := mainWidth/2 + reach
	return Wing{U: u, V: side * length / 2, Length: length, Width: width, Turn: side * quarter, Joined: [4]bool{3: true}}
}

// L returns a main wing with one across its far end.
func L(length, width, wing, reach float64) []Wing {
	return []Wing{{Length: length, Width: width}, branch(length/2-wing/2, wing, width, reach, 1)}
}

// T returns a main wing with one across its middle.
func T(length, width, wing, reach float64) []Wing {
	return []Wing{{Length: length, Width: width}, branch(length*0.06, wing, width, reach, 1)}
}

// U returns a main wing with one across each end, to the same side.
func U(length, width, wing, reach float64) []Wing {
	return []Wing{
		{Length: length, Width: width},
		branch(length/2-wing/2, wing, width, reach, 1), branch(wing/2-length/2, wing, width, reach, 1),
	}
}

// Cross returns a main wing with one across it to both sides.
func Cross(length, width, wing, reach float64) []Wing {
	return []Wing{
		{Length: length, Width: width},
		branch(0, wing, width, reach, 1), branch(0, wing, width, reach, -1),
	}
}

// Comb returns a main wing with teeth to one side.
func Comb(length, width, tooth, reach float64, teeth int) []Wing {
	wings := []Wing{{Length: length, Width: width}}
	for i := range teeth {
		u := (length - tooth) * (float64(i)/float64(teeth-1) - 0.5)
		wings = append(wings, branch(u, tooth, width, reach, 1))
	}
	return wings
}

// Court returns four wings of a width around a courtyard; length and across
// are outer measures.
func Court(length, across, width float64) []Wing {
	v := (across - width) / 2
	link := func(u float64) Wing {
		return Wing{U: u, Length: across - width, Width: width, Turn: quarter, Joined: [4]bool{1: true, 3: true}}
	}
	// In this order each wing touches those before it.
	return []Wing{
		{V: -v, Length: length, Width: width},
		link((length - width) / 2), link((width - length) / 2),
		{V: v, Length: length, Width: width},
	}
}

package house

import (
	"math"

	"quoin/extract/scene/solid"
)

// A Look is the set of surfaces of a building.
type Look struct{ Roof, Wall, Trim solid.Surface }

// A Section is a convex part of a building under one roof.
type Section struct {
	// Plan is the line of the outer walls.
	Plan []solid.Point
	// Overhang is how far the roof reaches beyond each side; nil for nothing.
	Overhang []float64
	// Gutter is the width of the gutter in front of each eave that has an
	// overhang; 0 for none.
	Gutter float64
	Roof   RoofKind
	// Pitch is the roof's angle in radians.
	Pitch float64
	// Base is below the ground everywhere along the plan; Eave is the
	// elevation of the roof's lower edge, of the deck for a flat roof.
	Base, Eave float64
	// Parapet is the height of the wall around a flat roof; 0 for none. The
	// sides in Open have none.
	Parapet float64
	Open    []bool
	// Posts makes the section a roof on posts, with no walls.
	Posts bool
	Look  Look
}

// Thickness of roof skins, of parapets, and of a gutter, in metres: common
// practice, no source.
const (
	skin         = 0.22
	parapetWidth = 0.28
	gutterDepth  = 0.10
	gutterDrop   = 0.03
)

// A shell is a section built.
type shell struct {
	bodies  []solid.Body
	outline []solid.Point
	planes  []solid.Slope
}

// build returns the bodies of a section and its outline from above.
func (s Section) build() shell {
	over := s.Overhang
	if over == nil {
		over = make([]float64, len(s.Plan))
	}
	edge := Offset(s.Plan, over)
	out := shell{outline: edge, planes: slopes(s.Roof, edge, s.Eave, math.Tan(s.Pitch))}
	out.bodies = slabs(edge, out.planes, skin, s.Look.Trim, s.Look.Roof)
	if s.Posts {
		out.bodies = append(out.bodies, s.posts(out.planes)...)
	} else {
		out.bodies = append(out.bodies, s.walls(out.planes))
	}
	if s.Parapet > 0 {
		out.bodies = append(out.bodies, s.parapets(edge)...)
	}
	if s.Gutter > 0 {
		out.outline = s.gutterLine(edge, over)
		out.bodies = append(out.bodies, s.gutters(edge, out.outline, over)...)
	}
	return out
}

// walls returns the body below the roof, ending inside the roof's skin.
func (s Section) walls(planes []solid.Slope) solid.Body {
	tops := make([]solid.Slope, len(planes))
	for i, p := range planes {
		tops[i] = p.Raised(-skin / 2)
	}
	return solid.Prism(s.Plan, solid.Level(s.Base), tops, s.Look.Wall, s.Look.Roof)
}

func (s Section) posts(planes []solid.Slope) []solid.Body {
	var bodies []solid.Body
	for _, p := range s.Plan {
		bodies = append(bodies, solid.Cylinder(p, 0.06, s.Base, lowest(planes, p)-skin/2, s.Look.Wall, s.Look.Wall))
	}
	return bodies
}

// ring returns the convex quadrilateral between side i of the outer and of the
// inner polygon.
func ring(outer, inner []solid.Point, i int) []solid.Point {
	j := (i + 1) % len(outer)
	return []solid.Point{outer[i], outer[j], inner[j], inner[i]}
}

func (s Section) parapets(edge []solid.Point) []solid.Body {
	in := make([]float64, len(edge))
	for i := range in {
		in[i] = -parapetWidth
	}
	inner := Offset(edge, in)
	var bodies []solid.Body
	for i := range edge {
		if s.Open == nil || !s.Open[i] {
			bodies = append(bodies, solid.Prism(ring(edge, inner, i), solid.Level(s.Eave-skin),
				[]solid.Slope{solid.Level(s.Eave + s.Parapet)}, s.Look.Wall, s.Look.Trim))
		}
	}
	return bodies
}

// guttered reports whether side i has a gutter.
func (s Section) guttered(i int, over []float64) bool { return drains(s.Roof, i) && over[i] > 0 }

// lip returns the elevation of the section's gutter lips, -Inf without.
func (s Section) lip() float64 {
	for i, o := range s.Overhang {
		if s.Gutter > 0 && drains(s.Roof, i) && o > 0 {
			return s.Eave - gutterDrop
		}
	}
	return math.Inf(-1)
}

// gutterLine returns the outline with the gutters' lips.
func (s Section) gutterLine(edge []solid.Point, over []float64) []solid.Point {
	by := make([]float64, len(edge))
	for i := range by {
		if s.guttered(i, over) {
			by[i] = s.Gutter
		}
	}
	return Offset(edge, by)
}

func (s Section) gutters(edge, lip []solid.Point, over []float64) []solid.Body {
	var bodies []solid.Body
	for i := range edge {
		if s.guttered(i, over) {
			top := s.Eave - gutterDrop
			bodies = append(bodies, solid.Prism(ring(lip, edge, i), solid.Level(top-gutterDepth),
				[]solid.Slope{solid.Level(top)}, s.Look.Trim, s.Look.Trim))
		}
	}
	return bodies
}

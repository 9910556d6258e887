package house

import (
	"fmt"
	"math"

	"quoin/extract/scene/solid"
)

// A Free is a building on any polygon of walls, holes included, under one roof.
type Free struct {
	Walls Region
	// Overhang is that of the whole roof edge; it must leave the rings simple.
	Overhang, Parapet float64
	// Roof is Flat, Shed or Gable; the last two rise at Pitch along or to both
	// sides of Heading, however the walls run.
	Roof       RoofKind
	Pitch      float64
	Heading    float64
	Base, Eave float64
	Look       Look
	ID, Kind   string
}

// Build returns the building.
func (f Free) Build() (*Building, error) {
	edge, err := f.edge()
	if err != nil {
		return nil, fmt.Errorf("house: build %s: %w", f.ID, err)
	}
	planes := f.planes(edge)
	b := &Building{
		ID: f.ID, Kind: f.Kind, Roof: string(f.Roof), RoofEdge: edge, WallLine: f.Walls, Eave: f.Eave,
		Ridge: math.Inf(-1), look: f.Look,
	}
	for _, plan := range pieces(edge) {
		b.Bodies = append(b.Bodies, slabs(plan, planes, skin, f.Look.Trim, f.Look.Roof)...)
		b.outlines, b.planes, b.rails = append(b.outlines, plan), append(b.planes, planes), append(b.rails, f.Parapet)
		b.lips = append(b.lips, math.Inf(-1))
		b.Ridge = max(b.Ridge, highest(plan, planes)+f.Parapet)
	}
	b.plans, b.Highest = b.outlines, b.Ridge
	section := Section{Base: f.Base, Eave: f.Eave, Parapet: f.Parapet, Look: f.Look}
	for _, plan := range pieces(f.Walls) {
		section.Plan = plan
		b.Bodies = append(b.Bodies, section.walls(planes))
	}
	if f.Parapet > 0 {
		for _, ring := range edge {
			b.Bodies = append(b.Bodies, section.parapets(ring)...)
		}
	}
	return b, nil
}

// edge returns the roof edge; it fails when the overhang closes a recess or a
// courtyard.
func (f Free) edge() (Region, error) {
	edge := make(Region, len(f.Walls))
	for i, ring := range f.Walls {
		by := make([]float64, len(ring))
		for k := range by {
			by[k] = f.Overhang
		}
		edge[i] = Offset(ring, by)
		if (ringArea(edge[i]) > 0) != (i == 0) {
			return nil, fmt.Errorf("ring %d runs the wrong way or the overhang turns it over", i)
		}
	}
	if _, err := polygonOf(edge); err != nil {
		return nil, fmt.Errorf("roof edge: %w", err)
	}
	return edge, nil
}

// planes returns the roof's planes: their lowest place over the outline is at
// the eave.
func (f Free) planes(edge Region) []solid.Slope {
	s, c := math.Sincos(f.Heading)
	across := solid.Point{X: -s, Y: c}
	low, high := math.Inf(1), math.Inf(-1)
	for _, p := range edge[0] {
		v := p.Dot(across)
		low, high = min(low, v), max(high, v)
	}
	tan := math.Tan(f.Pitch)
	rise := func(sign, from float64) solid.Slope {
		n := across.Scale(sign * tan)
		return solid.Slope{Z: f.Eave - sign*tan*from, A: n.X, B: n.Y}
	}
	switch f.Roof {
	case Shed:
		return []solid.Slope{rise(1, low)}
	case Gable:
		return []solid.Slope{rise(1, low), rise(-1, high)}
	}
	return []solid.Slope{solid.Level(f.Eave)}
}

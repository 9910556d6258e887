package house

import (
	"fmt"
	"math"

	"quoin/extract/scene/solid"
)

// A Building is built: its bodies for the rays, and its truth.
type Building struct {
	ID string
	// Kind says what it is used as: house, shed, hall, row house, tank.
	Kind string
	// Roof is the form of the main section's roof.
	Roof string
	// RoofEdge is the outline seen from above, WallLine that of the walls.
	RoofEdge, WallLine Region
	// Eave, Ridge and Highest are elevations: of the main section's lower roof
	// edge, of the highest roof surface, of the highest thing on it.
	Eave, Ridge, Highest float64
	// Neighbours are the buildings that share a party wall.
	Neighbours []string
	// Open is set for a roof without walls.
	Open bool
	// Arcs are the round parts of the outline.
	Arcs   []Arc
	Bodies []solid.Body

	planes   [][]solid.Slope
	plans    [][]solid.Point
	outlines [][]solid.Point
	rails    []float64 // heights of parapets
	lips     []float64 // elevations of gutter lips; -Inf without gutters
	look     Look
}

// An Arc is a circle that the outline follows as a polyline.
type Arc struct {
	Centre solid.Point
	Radius float64
}

// Build makes a building of sections, the main one first. It fails when the
// sections are not in one piece.
func Build(id, kind string, sections []Section) (*Building, error) {
	b := &Building{ID: id, Kind: kind, Roof: string(sections[0].Roof), Eave: sections[0].Eave, Ridge: math.Inf(-1), look: sections[0].Look}
	for _, s := range sections {
		shell := s.build()
		b.Bodies = append(b.Bodies, shell.bodies...)
		b.outlines, b.plans = append(b.outlines, shell.outline), append(b.plans, s.Plan)
		b.planes, b.rails = append(b.planes, shell.planes), append(b.rails, s.Parapet)
		b.lips = append(b.lips, s.lip())
		b.Ridge = max(b.Ridge, highest(shell.outline, shell.planes)+max(0, s.Parapet))
		b.Open = b.Open || s.Posts
	}
	b.Highest = b.Ridge
	var err error
	if b.RoofEdge, err = union(b.outlines); err != nil {
		return nil, fmt.Errorf("house: build %s: %w", id, err)
	}
	if b.WallLine, err = union(b.plans); err != nil {
		return nil, fmt.Errorf("house: build %s: %w", id, err)
	}
	return b, nil
}

// RoofAt returns the elevation of the main roof planes at p: the highest of
// the sections whose walls hold it, and false where there is none.
func (b *Building) RoofAt(p solid.Point) (float64, bool) {
	z, found := math.Inf(-1), false
	for i, plan := range b.plans {
		if (Region{plan}).Contains(p) {
			z, found = max(z, lowest(b.planes[i], p)), true
		}
	}
	return z, found
}

// highest returns the highest value over a convex outline of the lowest of the
// planes. The maximum of a concave function of linear pieces is at a vertex of
// their arrangement with the outline.
func highest(outline []solid.Point, planes []solid.Slope) float64 {
	top := math.Inf(-1)
	try := func(p solid.Point) {
		if inConvex(outline, p) {
			top = max(top, lowest(planes, p))
		}
	}
	for _, p := range outline {
		try(p)
	}
	for i, s := range planes {
		for j := range i {
			for k := range j {
				if p, ok := meetThree(s, planes[j], planes[k]); ok {
					try(p)
				}
			}
			for e := range outline {
				if p, ok := meetSide(s, planes[j], outline[e], outline[(e+1)%len(outline)]); ok {
					try(p)
				}
			}
		}
	}
	return top
}

func inConvex(outline []solid.Point, p solid.Point) bool {
	for i, a := range outline {
		b := outline[(i+1)%len(outline)]
		if b.Sub(a).Cross(p.Sub(a)) < -1e-6*b.Sub(a).Length() {
			return false
		}
	}
	return true
}

// meetThree returns the plan position where three planes meet.
func meetThree(a, b, c solid.Slope) (solid.Point, bool) {
	u, v := solid.Point{X: a.A - b.A, Y: a.B - b.B}, solid.Point{X: a.A - c.A, Y: a.B - c.B}
	det := u.Cross(v)
	if math.Abs(det) < 1e-12 {
		return solid.Point{}, false
	}
	p, q := b.Z-a.Z, c.Z-a.Z
	return solid.Point{X: (p*v.Y - q*u.Y) / det, Y: (u.X*q - v.X*p) / det}, true
}

// meetSide returns where the line in which two planes meet crosses a side.
func meetSide(a, b solid.Slope, p, q solid.Point) (solid.Point, bool) {
	fp, fq := a.At(p)-b.At(p), a.At(q)-b.At(q)
	if (fp > 0) == (fq > 0) || fp == fq {
		return solid.Point{}, false
	}
	return p.Add(q.Sub(p).Scale(fp / (fp - fq))), true
}

// EdgeAt returns the elevation of the roof edge at p, a place on it: that of
// the highest section there.
func (b *Building) EdgeAt(p solid.Point) float64 {
	z := math.Inf(-1)
	for i, outline := range b.outlines {
		if inConvex(outline, p) {
			// Over a gutter the planes are already below its lip.
			z = max(z, lowest(b.planes[i], p)+b.rails[i], b.lips[i])
		}
	}
	return z
}

// Look returns the surfaces of the main section.
func (b *Building) Look() Look { return b.look }

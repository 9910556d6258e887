package house

import (
	"math"

	"quoin/extract/scene/solid"
)

// circlePoints is the number of vertices with which truth follows a circle:
// the chord's error is below a millimetre for two metres of radius.
const circlePoints = 96

// circle returns a polygon about a centre that has the circle's area.
func circle(centre solid.Point, radius float64) []solid.Point {
	step := 2 * math.Pi / circlePoints
	r := radius * math.Sqrt(step/math.Sin(step))
	var ring []solid.Point
	for i := range circlePoints {
		s, c := math.Sincos(step * float64(i))
		ring = append(ring, centre.Add(solid.Point{X: r * c, Y: r * s}))
	}
	return ring
}

// A Round is a round building: a tower or a tank.
type Round struct {
	ID, Kind string
	Centre   solid.Point
	Radius   float64
	Overhang float64
	// Base, Eave and Top are elevations; Top is that of the cone or the dome,
	// and that of the flat lid when it equals Eave.
	Base, Eave, Top float64
	// Dome makes the roof a part of an ellipsoid, not a cone.
	Dome bool
	Look Look
}

// Build returns the building.
func (r Round) Build() *Building {
	outer := r.Radius + r.Overhang
	b := &Building{
		ID: r.ID, Kind: r.Kind, Roof: "flat", Eave: r.Eave, Ridge: r.Top, Highest: r.Top, look: r.Look,
		RoofEdge: Region{circle(r.Centre, outer)}, WallLine: Region{circle(r.Centre, r.Radius)},
		Arcs: []Arc{{r.Centre, outer}},
	}
	b.Bodies = []solid.Body{
		solid.Cylinder(r.Centre, r.Radius, r.Base, r.Eave-skin/2, r.Look.Wall, r.Look.Roof),
		solid.Cylinder(r.Centre, outer, r.Eave-skin, r.Eave, r.Look.Trim, r.Look.Roof),
	}
	switch {
	case r.Top <= r.Eave:
	case r.Dome:
		b.Roof = "dome"
		top := solid.Ellipsoid(r.Centre.Up(r.Eave), solid.Vec{X: outer, Y: outer, Z: r.Top - r.Eave}, r.Look.Roof)
		top.Faces = append(top.Faces, solid.Level(r.Eave).Over(r.Look.Roof))
		top.Box.Min.Z = r.Eave
		b.Bodies = append(b.Bodies, top)
	default:
		b.Roof = "cone"
		b.Bodies = append(b.Bodies, solid.Cone(r.Centre, outer, r.Eave, r.Top, r.Look.Roof))
	}
	b.flatten(b.RoofEdge[0], r.Eave)
	return b
}

// flatten records a level eave over an outline for EdgeAt and RoofAt.
func (b *Building) flatten(outline []solid.Point, eave float64) {
	b.outlines, b.plans = append(b.outlines, outline), append(b.plans, outline)
	b.planes, b.rails = append(b.planes, []solid.Slope{solid.Level(eave)}), append(b.rails, 0)
	b.lips = append(b.lips, math.Inf(-1))
}

// Vault returns a hall under a barrel roof: a part of a cylinder along the
// frame's heading that rises from the eave over the given width.
func Vault(id string, f Frame, length, width, eave, rise float64, look Look) *Building {
	plan := solid.Rectangle(f.Origin, length, width, f.Heading)
	z := f.Ground + eave
	// The circle through both eaves and the crown.
	radius := (width*width/4 + rise*rise) / (2 * rise)
	s, c := math.Sincos(f.Heading)
	roof := solid.Prism(plan, solid.Level(z-skin), []solid.Slope{solid.Level(z + rise)}, look.Trim, look.Roof)
	roof.Quadric = &solid.Quadric{
		Centre: f.Origin.Up(z + rise - radius), Sign: [3]float64{1, 1, 1}, K: 1, Surface: look.Roof,
		Axes: [3]solid.Vec{{X: -s / radius, Y: c / radius}, {Z: 1 / radius}},
	}
	b := &Building{
		ID: id, Kind: "hall", Roof: "vault", RoofEdge: Region{plan}, WallLine: Region{plan},
		Eave: z, Ridge: z + rise, Highest: z + rise, look: look,
	}
	walls := Section{Plan: plan, Base: f.Ground - 4, Look: look}.walls([]solid.Slope{solid.Level(z)})
	b.Bodies = []solid.Body{walls, roof}
	b.flatten(plan, z)
	return b
}

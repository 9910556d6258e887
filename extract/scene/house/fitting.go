package house

import (
	"math"

	"quoin/extract/scene/solid"
)

// Chimney puts a chimney of the given size through the roof at p.
func (b *Building) Chimney(p solid.Point, size, heading, above float64, look solid.Surface) {
	z, ok := b.RoofAt(p)
	if !ok {
		return
	}
	b.add(solid.Block(solid.Rectangle(p, size, size*0.8, heading), z-1, z+above, look))
}

// add appends something on the roof.
func (b *Building) add(body solid.Body) {
	b.Bodies = append(b.Bodies, body)
	b.Highest = max(b.Highest, body.Box.Max.Z)
}

// Dormer puts a dormer with a flat-pitched roof on the roof around p. It faces
// along heading and must stay clear of the roof edge.
func (b *Building) Dormer(p solid.Point, width, depth, heading, height float64, look Look) {
	face := p.Add(solid.Point{X: math.Cos(heading), Y: math.Sin(heading)}.Scale(depth / 2))
	low, ok := b.RoofAt(face)
	if !ok {
		return
	}
	body := solid.Rectangle(p, depth, width, heading)
	b.add(solid.Block(body, low-0.3, low+height, look.Wall))
	lid := solid.Rectangle(p, depth+0.3, width+0.3, heading)
	tilt := solid.Point{X: math.Cos(heading), Y: math.Sin(heading)}.Scale(-0.08)
	top := solid.Slope{Z: low + height + 0.18 - tilt.Dot(face), A: tilt.X, B: tilt.Y}
	b.add(solid.Prism(lid, top.Raised(-0.15), []solid.Slope{top}, look.Trim, look.Roof))
}

// Panels lays a rectangle of solar panels, or a roof window, on the roof: a
// thin slab parallel to it, lift above it.
func (b *Building) Panels(p solid.Point, length, width, heading, lift float64, look solid.Surface) {
	slope, ok := b.slopeAt(p)
	if !ok {
		return
	}
	plan := solid.Rectangle(p, length, width, heading)
	b.add(solid.Prism(plan, slope.Raised(lift-0.05), []solid.Slope{slope.Raised(lift)}, look, look))
}

// slopeAt returns the roof plane that is seen at p.
func (b *Building) slopeAt(p solid.Point) (slope solid.Slope, found bool) {
	best := math.Inf(-1)
	for i, plan := range b.plans {
		if !(Region{plan}).Contains(p) {
			continue
		}
		for _, s := range b.planes[i] {
			if z := lowest(b.planes[i], p); z > best && s.At(p) == z {
				best, slope, found = z, s, true
			}
		}
	}
	return slope, found
}

// Machine puts a box on the roof at p: air handling, a lift head.
func (b *Building) Machine(p solid.Point, length, width, heading, height float64, look solid.Surface) {
	if z, ok := b.RoofAt(p); ok {
		b.add(solid.Block(solid.Rectangle(p, length, width, heading), z-0.2, z+height, look))
	}
}

// Balcony hangs a slab with a solid rail in front of side i of the first
// section at the given elevation. It may reach beyond the roof edge, and is no
// part of it.
func (b *Building) Balcony(i int, from, to, depth, floor float64, look solid.Surface) {
	plan := b.plans[0]
	p, d := side(plan, i, 0)
	out := solid.Point{X: d.Y, Y: -d.X}
	at := func(u, v float64) solid.Point { return p.Add(d.Scale(u)).Add(out.Scale(v)) }
	slab := []solid.Point{at(from, depth), at(to, depth), at(to, -0.1), at(from, -0.1)}
	rail := []solid.Point{at(from, depth), at(to, depth), at(to, depth-0.06), at(from, depth-0.06)}
	b.Bodies = append(b.Bodies, solid.Block(slab, floor-0.2, floor, look), solid.Block(rail, floor, floor+1, look))
}

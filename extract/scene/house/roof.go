package house

import (
	"math"

	"quoin/extract/scene/solid"
)

// A RoofKind is the form of a section's roof.
type RoofKind string

// The forms of roof. Gable and shed roofs need a plan of four sides: the ridge
// runs along sides 0 and 2, a shed rises from side 0.
const (
	Flat    RoofKind = "flat"
	Shed    RoofKind = "shed"
	Gable   RoofKind = "gable"
	Hip     RoofKind = "hip"
	Mansard RoofKind = "mansard"
)

// The lower pitch of a mansard and the height of its break above the eave.
const (
	mansardTan   = 2.75 // 70 degrees
	mansardBreak = 2.2
)

// slopes returns the planes of a roof whose eave is at an elevation above the
// outline's sides; the roof is the lowest of them.
func slopes(kind RoofKind, outline []solid.Point, eave, tan float64) []solid.Slope {
	switch kind {
	case Shed:
		return []solid.Slope{rising(outline, 0, eave, tan)}
	case Gable:
		return []solid.Slope{rising(outline, 0, eave, tan), rising(outline, 2, eave, tan)}
	case Hip, Mansard:
		var all []solid.Slope
		for i := range outline {
			if kind == Mansard {
				all = append(all, rising(outline, i, eave, mansardTan))
				all = append(all, rising(outline, i, eave+mansardBreak-tan*mansardBreak/mansardTan, tan))
				continue
			}
			all = append(all, rising(outline, i, eave, tan))
		}
		return all
	}
	return []solid.Slope{solid.Level(eave)}
}

// rising returns the plane that is at the eave over a side and rises inwards.
func rising(outline []solid.Point, i int, eave, tan float64) solid.Slope {
	p, d := side(outline, i, 0)
	inward := solid.Point{X: -d.Y, Y: d.X}.Scale(tan)
	return solid.Slope{Z: eave - inward.Dot(p), A: inward.X, B: inward.Y}
}

// lowest returns the elevation of the lowest plane at p.
func lowest(planes []solid.Slope, p solid.Point) float64 {
	z := math.Inf(1)
	for _, s := range planes {
		z = min(z, s.At(p))
	}
	return z
}

// drains reports whether a side of the outline carries an eave: the roof falls
// towards it.
func drains(kind RoofKind, i int) bool {
	switch kind {
	case Shed:
		return i == 0
	case Gable:
		return i == 0 || i == 2
	case Hip, Mansard:
		return true
	}
	return false
}

// slabs returns the roof's skin of the given thickness: a body for each plane,
// over the part of the outline where that plane is the lowest.
func slabs(outline []solid.Point, planes []solid.Slope, thick float64, edge, top solid.Surface) []solid.Body {
	var bodies []solid.Body
	for i, s := range planes {
		b := solid.Prism(outline, s.Raised(-thick), []solid.Slope{s}, edge, top)
		for j, t := range planes {
			if n := (solid.Point{X: s.A - t.A, Y: s.B - t.B}); j != i && n.Length() > 1e-12 {
				l := n.Length()
				b.Faces = append(b.Faces, solid.Face{N: solid.Vec{X: n.X / l, Y: n.Y / l}, D: (t.Z - s.Z) / l, Surface: top})
			}
		}
		bodies = append(bodies, b)
	}
	return bodies
}

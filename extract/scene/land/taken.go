package land

import (
	"quoin/extract/scene/house"
	"quoin/extract/scene/solid"
)

// Taken remembers which places are used.
type Taken struct {
	circles []circle
	near    near
}

type circle struct {
	at     solid.Point
	radius float64
}

// NewTaken returns a memory of no place.
func NewTaken() *Taken { return &Taken{near: near{}} }

// Circle marks a circle as used.
func (t *Taken) Circle(at solid.Point, radius float64) {
	reach := solid.Point{X: radius, Y: radius}
	t.near.add(len(t.circles), at.Sub(reach), at.Add(reach))
	t.circles = append(t.circles, circle{at, radius})
}

// Region marks a region as used, with room around it, by circles along its
// sides and inside.
func (t *Taken) Region(r house.Region, room float64) {
	for _, ring := range r {
		for i, a := range ring {
			d := ring[(i+1)%len(ring)].Sub(a)
			n := int(d.Length()/1.5) + 1
			for k := range n {
				t.Circle(a.Add(d.Scale(float64(k)/float64(n))), room)
			}
		}
	}
	low, high := r.Bounds()
	for y := low.Y; y < high.Y; y += 2 {
		for x := low.X; x < high.X; x += 2 {
			if p := (solid.Point{X: x, Y: y}); r.Contains(p) {
				t.Circle(p, 1.2+room/2)
			}
		}
	}
}

// Free reports whether a circle touches no used place.
func (t *Taken) Free(p solid.Point, radius float64) bool {
	for _, i := range t.near.around(p, radius) {
		if c := t.circles[i]; p.Sub(c.at).Length() < radius+c.radius {
			return false
		}
	}
	return true
}

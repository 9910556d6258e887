package solid

import "math"

// A Vec is a position or a direction in metres: east, north, up.
type Vec struct{ X, Y, Z float64 }

// Add returns v + w.
func (v Vec) Add(w Vec) Vec { return Vec{v.X + w.X, v.Y + w.Y, v.Z + w.Z} }

// Sub returns v − w.
func (v Vec) Sub(w Vec) Vec { return Vec{v.X - w.X, v.Y - w.Y, v.Z - w.Z} }

// Scale returns f·v.
func (v Vec) Scale(f float64) Vec { return Vec{f * v.X, f * v.Y, f * v.Z} }

// Dot returns the scalar product.
func (v Vec) Dot(w Vec) float64 { return v.X*w.X + v.Y*w.Y + v.Z*w.Z }

// Cross returns the vector product.
func (v Vec) Cross(w Vec) Vec {
	return Vec{v.Y*w.Z - v.Z*w.Y, v.Z*w.X - v.X*w.Z, v.X*w.Y - v.Y*w.X}
}

// Length returns |v|.
func (v Vec) Length() float64 { return math.Sqrt(v.Dot(v)) }

// Unit returns v/|v|; the zero vector stays.
func (v Vec) Unit() Vec {
	if l := v.Length(); l > 0 {
		return v.Scale(1 / l)
	}
	return v
}

// A Box is an axis-parallel box.
type Box struct{ Min, Max Vec }

// emptyBox holds nothing; it grows by union.
func emptyBox() Box {
	inf := math.Inf(1)
	return Box{Vec{inf, inf, inf}, Vec{-inf, -inf, -inf}}
}

// with returns the box that also holds p.
func (b Box) with(p Vec) Box {
	return Box{
		Vec{min(b.Min.X, p.X), min(b.Min.Y, p.Y), min(b.Min.Z, p.Z)},
		Vec{max(b.Max.X, p.X), max(b.Max.Y, p.Y), max(b.Max.Z, p.Z)},
	}
}

// union returns the box of both.
func (b Box) union(o Box) Box { return b.with(o.Min).with(o.Max) }

// centre returns the middle of the box.
func (b Box) centre() Vec { return b.Min.Add(b.Max).Scale(0.5) }

package outline

import "math"

// An Ellipse is the footprint of a pulse: the half-width across an edge with unit normal n is √(nᵀEn), with E of these elements, square
// metres. The zero value is no footprint.
type Ellipse struct{ XX, XY, YY float64 }

// NewEllipse is the footprint with half-widths along and across a direction, radians from the x axis.
func NewEllipse(along, across, direction float64) Ellipse {
	s, c := math.Sincos(direction)
	a, b := along*along, across*across
	return Ellipse{XX: a*c*c + b*s*s, XY: (a - b) * s * c, YY: a*s*s + b*c*c}
}

// Across is the half-width across an edge with the unit normal.
func (e Ellipse) Across(nx, ny float64) float64 {
	return math.Sqrt(max(nx*nx*e.XX+2*nx*ny*e.XY+ny*ny*e.YY, 0))
}

// Plus is the footprint whose squared half-widths are the sums, Scaled that with them multiplied: with weights, the mean over pulses.
func (e Ellipse) Plus(o Ellipse) Ellipse { return Ellipse{e.XX + o.XX, e.XY + o.XY, e.YY + o.YY} }

// Scaled is the footprint with squared half-widths multiplied by a factor.
func (e Ellipse) Scaled(factor float64) Ellipse {
	return Ellipse{factor * e.XX, factor * e.XY, factor * e.YY}
}

// Mean is the root mean square half-width over all directions.
func (e Ellipse) Mean() float64 { return math.Sqrt(max((e.XX+e.YY)/2, 0)) }

// longest is the larger half-width.
func (e Ellipse) longest() float64 {
	return math.Sqrt(max((e.XX+e.YY)/2+math.Hypot((e.XX-e.YY)/2, e.XY), 0))
}

// across is the half-width of the beam across an edge with the normal: Beam, unless Footprint tells it by direction.
func (m Measures) across(nx, ny float64) float64 {
	if m.Footprint == (Ellipse{}) {
		return m.Beam
	}
	return m.Footprint.Across(nx, ny)
}

// at is what holds at an edge: Beam is that across it.
func (m Measures) at(s *span) Measures {
	m.Beam = m.across(s.nx, s.ny)
	return m
}

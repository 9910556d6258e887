package reproject

import (
	"math"

	"quoin/vector"
)

// roof moves the parts of a roof. Gradients are those of the
// new horizontal and vertical unit; pitches are angles on the ground and stay.
func (m *mover) roof(f vector.Footprint, j jacobian) (vector.Footprint, error) {
	turned := j.convergence()
	f.Roof.Aspect = turned.aspect(f.Roof.Aspect)
	parts := append([]vector.RoofPart(nil), f.Parts...)
	for i := range parts {
		p := &parts[i]
		var err error
		if p.Polygon, err = m.polygon(p.Polygon); err != nil {
			return f, err
		}
		if err := m.elevations(p.Origin, &p.Elevation, &p.Eave, &p.Ridge); err != nil {
			return f, err
		}
		if p.Origin, err = m.t.Forward(p.Origin); err != nil {
			return f, err
		}
		p.Gradient[0], p.Gradient[1] = j.gradient(p.Gradient[0]*m.up, p.Gradient[1]*m.up)
		p.RMS *= m.up
		p.Aspect = turned.aspect(p.Aspect)
	}
	f.Parts = parts
	return f, nil
}

// gradient returns that of the same surface by the new coordinates: the inverse
// of the transposed jacobian times it.
func (j jacobian) gradient(e, n float64) (float64, float64) {
	det := j.ee*j.nn - j.en*j.ne
	return (j.nn*e - j.ne*n) / det, (j.ee*n - j.en*e) / det
}

// A convergence is the angle, in degrees, by which directions turn clockwise.
type convergence float64

func (j jacobian) convergence() convergence {
	return convergence(-math.Atan2(j.ne-j.en, j.ee+j.nn) * 180 / math.Pi)
}

func (c convergence) aspect(a float64) float64 {
	return math.Mod(a+float64(c)+360, 360)
}

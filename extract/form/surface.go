package form

import (
	"math"

	"quoin/vector"
)

// A surface is one smooth surface of a roof.
type surface struct {
	form  vector.PartForm
	plane Plane
	rms   float64 // of its points about its own surface
	n     int
	at    func(x, y float64) float64
}

// curvedShare is the residual of a curved surface over that of the plane
// through it. Through a ball's cap or a cone a paraboloid leaves 0.2, through a
// barrel less than 0.1, through a gable 0.25, which bends one way only: round ones
// get more room.
const curvedShare, roundShare = 0.22, 0.25

// describe tells what surface points lie on. A surface that no simple form
// explains is left as it is, with the plane of least squares.
func (w *work) describe(points []Point) surface {
	n := len(points)
	points = thinned(points)
	rough, _ := planeOf(points)
	tolerance := w.tolerance(rough.GX, rough.GY)
	plane, rms := fitPlane(points, tolerance)
	s := surface{form: vector.FormPlane, plane: plane, rms: rms, n: n, at: plane.At}
	if whole := residual(points, plane.At); rms <= tolerance && whole <= 2*tolerance {
		return s
	}
	s.plane, s.rms = planeOf(points)
	s.at = s.plane.At
	w.curve(&s, points)
	return s
}

// fitPoints is the number of points that a surface is fitted to at most: they
// tell a plane to a twentieth of the noise.
const fitPoints = 3000

// thinned returns every second, third or further one of more points than that.
func thinned(points []Point) []Point {
	step := (len(points) + fitPoints - 1) / fitPoints
	if step <= 1 {
		return points
	}
	out := make([]Point, 0, len(points)/step+1)
	for i := 0; i < len(points); i += step {
		out = append(out, points[i])
	}
	return out
}

// curve looks for a curved surface that explains points which no plane does.
func (w *work) curve(s *surface, points []Point) {
	flat, tolerance := s.rms, w.tolerance(s.plane.GX, s.plane.GY)
	s.form = vector.FormFree
	q, ok := fitQuadric(points, s.plane)
	if !ok {
		return
	}
	strong, weak, tx, ty := q.bends()
	if strong >= 0 {
		return // hollow: no roof that has a name
	}
	form, at, rms, share := vector.FormVault, q.at, residual(points, q.at), curvedShare
	if weak < 0.3*strong { // both bend downwards, and alike
		form, share = vector.FormDome, roundShare
		if x, y, ok := q.apex(); ok {
			if cone, err := fitCone(points, x, y); err < rms {
				form, at, rms = vector.FormCone, cone, err
			}
		}
	} else if folded(points, s.plane, tx, ty) < rms {
		return // two planes: for the search of planes
	}
	if rms <= max(tolerance, share*flat) {
		s.form, s.at, s.rms = form, at, rms
	}
}

// fitCone returns the cone about an apex and its residual.
func fitCone(points []Point, x, y float64) (func(x, y float64) float64, float64) {
	n := float64(len(points))
	var r, z, rr, rz float64
	for _, p := range points {
		d := math.Hypot(p.X-x, p.Y-y)
		r, z, rr, rz = r+d/n, z+p.Z/n, rr+d*d/n, rz+d*p.Z/n
	}
	slope := (rz - r*z) / (rr - r*r)
	at := func(px, py float64) float64 { return z + slope*(math.Hypot(px-x, py-y)-r) }
	return at, residual(points, at)
}

// folded returns the least residual of two planes that part points at a line
// across a direction.
func folded(points []Point, middle Plane, tx, ty float64) float64 {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, p := range points {
		along := (p.X-middle.X)*tx + (p.Y-middle.Y)*ty
		lo, hi = min(lo, along), max(hi, along)
	}
	best := math.Inf(1)
	const trials = 16
	for k := 3; k < trials-2; k++ {
		limit := lo + (hi-lo)*float64(k)/trials
		var sides [2][]Point
		for _, p := range points {
			side := 0
			if (p.X-middle.X)*tx+(p.Y-middle.Y)*ty > limit {
				side = 1
			}
			sides[side] = append(sides[side], p)
		}
		if min(len(sides[0]), len(sides[1])) < 6 {
			continue
		}
		_, a := planeOf(sides[0])
		_, b := planeOf(sides[1])
		na, nb := float64(len(sides[0])), float64(len(sides[1]))
		best = min(best, math.Sqrt((na*a*a+nb*b*b)/(na+nb)))
	}
	return best
}

// curved reports whether it is a curved surface that has a name.
func (s *surface) curved() bool {
	return s.form == vector.FormDome || s.form == vector.FormVault || s.form == vector.FormCone
}

// flat reports whether it is a plane.
func (s *surface) flat() bool { return s.form == vector.FormPlane }

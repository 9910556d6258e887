package form

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// fitPlane returns the plane of least squares through points, after leaving
// out in three rounds those farther than 2.5 standard deviations and the least
// distance, and its root mean square residual over those that stay. A level
// plane comes of points on a line.
func fitPlane(points []Point, least float64) (Plane, float64) {
	used := points
	p, rms := planeOf(used)
	for range 3 {
		var near []Point
		for _, q := range points {
			if math.Abs(q.Z-p.At(q.X, q.Y)) <= max(least, 2.5*rms) {
				near = append(near, q)
			}
		}
		if len(near) == len(used) || 2*len(near) < len(points) {
			break
		}
		used = near
		p, rms = planeOf(used)
	}
	return p, rms
}

// planeOf is the plane of least squares and its residual.
func planeOf(points []Point) (Plane, float64) {
	n := float64(len(points))
	var p Plane
	for _, q := range points {
		p.X, p.Y, p.Z = p.X+q.X/n, p.Y+q.Y/n, p.Z+q.Z/n
	}
	var xx, xy, yy, xz, yz float64
	for _, q := range points {
		x, y, z := q.X-p.X, q.Y-p.Y, q.Z-p.Z
		xx, xy, yy, xz, yz = xx+x*x, xy+x*y, yy+y*y, xz+x*z, yz+y*z
	}
	if det := xx*yy - xy*xy; det > 1e-4*(xx+yy)*(xx+yy) {
		p.GX, p.GY = (xz*yy-yz*xy)/det, (yz*xx-xz*xy)/det
	}
	return p, residual(points, p.At)
}

// residual is the root mean square distance of points from a surface, along
// the vertical.
func residual(points []Point, at func(x, y float64) float64) float64 {
	sum := 0.0
	for _, q := range points {
		e := q.Z - at(q.X, q.Y)
		sum += e * e
	}
	return math.Sqrt(sum / float64(len(points)))
}

// A quadric is z = c0 + c1·u + c2·v + c3·u² + c4·u·v + c5·v², with u and v from
// its middle.
type quadric struct {
	x, y float64
	c    [6]float64
}

func (q *quadric) at(x, y float64) float64 {
	u, v := x-q.x, y-q.y
	return q.c[0] + q.c[1]*u + q.c[2]*v + q.c[3]*u*u + q.c[4]*u*v + q.c[5]*v*v
}

// fitQuadric returns the quadric of least squares; false when the points do not
// tell it.
func fitQuadric(points []Point, middle Plane) (quadric, bool) {
	q := quadric{x: middle.X, y: middle.Y}
	normal, right := mat.NewSymDense(6, nil), mat.NewVecDense(6, nil)
	for _, p := range points {
		u, v := p.X-q.x, p.Y-q.y
		row := [6]float64{1, u, v, u * u, u * v, v * v}
		for i, a := range row {
			right.SetVec(i, right.AtVec(i)+a*p.Z)
			for j := i; j < 6; j++ {
				normal.SetSym(i, j, normal.At(i, j)+a*row[j])
			}
		}
	}
	var chol mat.Cholesky
	var c mat.VecDense
	if !chol.Factorize(normal) || chol.SolveVecTo(&c, right) != nil {
		return q, false
	}
	for i := range q.c {
		q.c[i] = c.AtVec(i)
	}
	return q, true
}

// bends returns the two principal second derivatives, the one of the greater
// size first, and the unit vector along which it is taken.
func (q *quadric) bends() (strong, weak, tx, ty float64) {
	half, diff := q.c[3]+q.c[5], math.Hypot(q.c[3]-q.c[5], q.c[4])
	angle := math.Atan2(q.c[4], q.c[3]-q.c[5]) / 2
	strong, weak = half+diff, half-diff
	if math.Abs(weak) > math.Abs(strong) {
		strong, weak, angle = weak, strong, angle+math.Pi/2
	}
	return strong, weak, math.Cos(angle), math.Sin(angle)
}

// apex returns where the quadric is level; false of a cylinder.
func (q *quadric) apex() (x, y float64, ok bool) {
	det := 4*q.c[3]*q.c[5] - q.c[4]*q.c[4]
	if strong, weak, _, _ := q.bends(); math.Abs(weak) < 0.2*math.Abs(strong) {
		return 0, 0, false
	}
	return q.x + (q.c[4]*q.c[2]-2*q.c[5]*q.c[1])/det, q.y + (q.c[4]*q.c[1]-2*q.c[3]*q.c[2])/det, true
}

package roof

import "math"

// A plane is the surface z = z0 + gx·x + gy·y about the point it was fitted
// for, which is the origin.
type plane struct{ z0, gx, gy float64 }

// secant turns a distance across the plane into one along the vertical.
func (p plane) secant() float64 { return math.Sqrt(1 + p.gx*p.gx + p.gy*p.gy) }

// mostNear is the number of neighbours that a surface is fitted to; of more,
// every second, third, … is taken.
const mostNear = 40

// A hood is the neighbourhood of a point, relative to it.
type hood struct {
	x, y, z [mostNear]float64
	w       [mostNear]float64
	n       int
}

// A fit is a plane with how well it explains its neighbourhood.
type fit struct {
	plane
	n       int     // neighbours looked at
	inliers int     // of those, the ones on the plane
	rms     float64 // of the inliers, across the plane
	line    bool    // the neighbours lie along a line: the plane may tilt about it
}

// side leaves in into only the neighbours on one side of a line through the
// point, whose normal is (nx, ny); those up to margin beyond it stay.
func (h *hood) side(into *hood, nx, ny, margin float64) {
	n := 0
	for i := range h.n {
		if nx*h.x[i]+ny*h.y[i] >= -margin {
			into.x[n], into.y[n], into.z[n] = h.x[i], h.y[i], h.z[i]
			n++
		}
	}
	into.n = n
}

// weighted fits a plane by least squares with the weights of the hood. thin is
// the standard deviation across their line below which the points count as a
// line; such a fit is kept from tilting across it.
func (h *hood) weighted(thin float64) (p plane, line, ok bool) {
	var w, mx, my, mz, xx, xy, yy, xz, yz float64
	for i, wi := range h.w[:h.n] {
		x, y, z := h.x[i], h.y[i], h.z[i]
		wx, wy := wi*x, wi*y
		w += wi
		mx += wx
		my += wy
		mz += wi * z
		xx += wx * x
		xy += wx * y
		yy += wy * y
		xz += wx * z
		yz += wy * z
	}
	if w < 1e-9 {
		return plane{}, false, false
	}
	mx, my, mz = mx/w, my/w, mz/w
	xx, xy, yy = xx/w-mx*mx, xy/w-mx*my, yy/w-my*my
	xz, yz = xz/w-mx*mz, yz/w-my*mz
	// the smaller eigenvalue is below thin² where the matrix less thin² is not
	// positive definite
	t := thin * thin
	if xx <= t || yy <= t || (xx-t)*(yy-t) <= xy*xy {
		line = true
		xx += t
		yy += t
	}
	det := xx*yy - xy*xy
	if !(det > 0) {
		return plane{}, true, false
	}
	p.gx, p.gy = (xz*yy-yz*xy)/det, (yz*xx-xz*xy)/det
	p.z0 = mz - p.gx*mx - p.gy*my
	return p, line, true
}

// judge counts the neighbours that lie on a plane.
func (h *hood) judge(p plane, tolerance float64) fit {
	secant := p.secant()
	limit := tolerance * secant
	sum, n := 0.0, 0
	for i, z := range h.z[:h.n] {
		if e := z - p.z0 - p.gx*h.x[i] - p.gy*h.y[i]; e < limit && e > -limit {
			n++
			sum += e * e
		}
	}
	return fit{plane: p, n: h.n, inliers: n, rms: math.Sqrt(sum/float64(max(n-3, 1))) / secant}
}

// reweigh gives each neighbour the weight of Geman & McClure for its distance
// from a plane.
func (h *hood) reweigh(p plane, scale float64) {
	f := 1 / (scale * p.secant())
	for i, z := range h.z[:h.n] {
		e := (z - p.z0 - p.gx*h.x[i] - p.gy*h.y[i]) * f
		r := 1 / (1 + e*e)
		h.w[i] = r * r
	}
}

// A tuning says how robust works: scales fall from coarse to the tolerance,
// which is the distance of an inlier; a fit is given up when the first plane
// has less than the share hopeful of inliers.
type tuning struct{ coarse, tolerance, thin, hopeful float64 }

// robust fits a plane by iteratively reweighted least squares, the weights
// after Geman & McClure (1987, Bulletin of the International Statistical
// Institute 52(4), 5–21).
func (h *hood) robust(t tuning) (fit, bool) {
	for i := range h.n {
		h.w[i] = 1
	}
	p, line, ok := h.weighted(t.thin)
	if !ok {
		return fit{}, false
	}
	f := h.judge(p, t.tolerance)
	if float64(f.inliers) < t.hopeful*float64(f.n) {
		return fit{}, false
	}
	for scale := t.coarse; f.inliers < f.n && scale > t.tolerance/2; scale /= 2 {
		h.reweigh(p, scale)
		if p, line, ok = h.weighted(t.thin); !ok {
			return fit{}, false
		}
		f = h.judge(p, t.tolerance)
	}
	f.line = line
	return f, true
}

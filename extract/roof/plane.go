package roof

import "math"

// A plane is the surface z = z0 + gx·x + gy·y about the point it was fitted
// for, which is the origin.
type plane struct{ z0, gx, gy float64 }

// at returns the height of the plane at a place relative to its point.
func (p plane) at(x, y float64) float64 { return p.z0 + p.gx*x + p.gy*y }

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

// weighted fits a plane by least squares with the weights of the hood. thin is
// the standard deviation across their line below which the points count as a
// line; such a fit is kept from tilting across it.
func (h *hood) weighted(thin float64) (p plane, line, ok bool) {
	var w, mx, my, mz float64
	for i := range h.n {
		w += h.w[i]
		mx += h.w[i] * h.x[i]
		my += h.w[i] * h.y[i]
		mz += h.w[i] * h.z[i]
	}
	if w < 1e-9 {
		return plane{}, false, false
	}
	mx, my, mz = mx/w, my/w, mz/w
	var xx, xy, yy, xz, yz float64
	for i := range h.n {
		x, y, z := h.x[i]-mx, h.y[i]-my, h.z[i]-mz
		wx, wy := h.w[i]*x, h.w[i]*y
		xx += wx * x
		xy += wx * y
		yy += wy * y
		xz += wx * z
		yz += wy * z
	}
	minor := (xx+yy)/2 - math.Sqrt((xx-yy)*(xx-yy)/4+xy*xy)
	if minor < w*thin*thin {
		line = true
		xx += w * thin * thin
		yy += w * thin * thin
	}
	det := xx*yy - xy*xy
	if det < 1e-12*(xx+yy)*(xx+yy) || det == 0 {
		return plane{}, true, false
	}
	p.gx, p.gy = (xz*yy-yz*xy)/det, (yz*xx-xz*xy)/det
	p.z0 = mz - p.gx*mx - p.gy*my
	return p, line, true
}

// judge counts the neighbours of positive side that lie on a plane.
func (h *hood) judge(p plane, side halfPlane, tolerance float64) fit {
	f := fit{plane: p}
	limit := tolerance * p.secant()
	sum := 0.0
	for i := range h.n {
		if !side.holds(h.x[i], h.y[i]) {
			continue
		}
		f.n++
		if e := h.z[i] - p.at(h.x[i], h.y[i]); math.Abs(e) < limit {
			f.inliers++
			sum += e * e
		}
	}
	f.rms = math.Sqrt(sum/float64(max(f.inliers-3, 1))) / p.secant()
	return f
}

// A halfPlane holds the places on one side of a line close to the origin; the
// zero value holds all.
type halfPlane struct{ nx, ny, d float64 }

func (s halfPlane) holds(x, y float64) bool { return s.nx*x+s.ny*y >= -s.d }

// robust fits a plane to the neighbours on one side by iteratively reweighted
// least squares, the weights after Geman & McClure (1987, Bulletin of the
// International Statistical Institute 52(4), 5–21), the scale falling from
// coarse to the tolerance.
func (h *hood) robust(side halfPlane, coarse, tolerance, thin float64) (fit, bool) {
	for i := range h.n {
		h.w[i] = 0
		if side.holds(h.x[i], h.y[i]) {
			h.w[i] = 1
		}
	}
	p, line, ok := h.weighted(thin)
	if !ok {
		return fit{}, false
	}
	f := h.judge(p, side, tolerance)
	for scale := coarse; f.inliers < f.n && scale > tolerance/2; scale /= 2 {
		limit := 1 / (scale * p.secant())
		for i := range h.n {
			if !side.holds(h.x[i], h.y[i]) {
				continue
			}
			e := (h.z[i] - p.at(h.x[i], h.y[i])) * limit
			r := 1 / (1 + e*e)
			h.w[i] = r * r
		}
		if p, line, ok = h.weighted(thin); !ok {
			return fit{}, false
		}
		f = h.judge(p, side, tolerance)
	}
	f.line = line
	return f, true
}

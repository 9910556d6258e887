package swath

import (
	"math"
	"slices"
)

// Model of a path. The sensor's position is piecewise linear between knots at
// the ends of windows, and its second differences are small: acceleration
// about restlessness, in m/s²; common practice for drones in a turn, no
// source. The best straight pieces along a path with that acceleration are off
// by chord, the root mean square of a parabola about its chord's parallel.
const (
	restlessness = 1.0
	chord        = restlessness * windowSeconds * windowSeconds / (12 * 2.236) // 9 mm
)

// Iterations of the adjustment: first linear, which needs no start, then on
// directions, which is free of the linear form's bias towards the ground.
const (
	linearRounds    = 6
	directionRounds = 6
)

// tukey is the tuning constant of the biweight, in standard deviations of one
// axis: 95 % efficient for normal errors (Beaton & Tukey 1974).
const tukey = 4.685

// A knot is a position of the sensor at the end of a window.
type knot struct {
	at vec
	// across is the standard error in metres perpendicular to the rays, the
	// only one that displaces a ray; position is that of the whole vector.
	across, position float64
}

// A path is the sensor's positions along one line.
type path struct {
	first uint32 // number of the window that begins at the first knot
	knots []knot
	rays  int
	used  int     // rays that the robust weights kept
	noise float64 // of a return across its ray, metres per axis
	reach float64 // median distance from the sensor to what it measured
}

// intersect returns the path that a line's rays meet on: the least-squares
// adjustment of all its positions at once, each ray weighted by its length and
// by how well it agrees (biweight). The scale of the residuals is their
// median. It returns false when the rays do not determine a path.
//
// The idea of intersecting the lines through multiple returns is that of
// Gatziolis & McGaughey 2019, Remote Sensing 11(19), 2258 (from memory); the
// adjustment with its robust weights and its covariance is our own.
func intersect(l *line, s sheaf) (path, bool) {
	if len(s.rays) < leastRays {
		return path{}, false
	}
	first := max(windowOf(s.rays[0].tick), l.first+beyond) - beyond
	last := min(windowOf(s.rays[len(s.rays)-1].tick)+beyond, l.last)
	a := adjustment{rays: s.rays, first: first, at: make([]vec, last-first+2), weights: make([]float64, len(s.rays))}
	for i := range a.weights {
		a.weights[i] = 1
	}
	a.noise, a.reach = 0.01, 100
	for round := range linearRounds + directionRounds {
		if !a.solve(round >= linearRounds) {
			return path{}, false
		}
		a.reweigh()
	}
	return a.result(), true
}

// leastRays is the least number of rays that a path is taken from; beyond is
// how many windows it is continued before the first and after the last.
const (
	leastRays = 8
	beyond    = 4
)

type adjustment struct {
	rays         []ray
	weights      []float64 // of the biweight, 0 to 1
	first        uint32
	at           []vec // knots
	noise, reach float64
	factor       bandMatrix
}

// locate returns the knot before a ray, and the share of the way to the next.
func (a *adjustment) locate(tick uint64) (k int, f float64) {
	w := windowOf(tick)
	return int(w - a.first), float64(tick-uint64(w)*windowTicks) / windowTicks
}

func (a *adjustment) sensor(tick uint64) vec {
	k, f := a.locate(tick)
	return lerp(a.at[k], a.at[k+1], f)
}

// solve computes the knots from the rays with their present weights: either by
// the perpendicular distances of the sensor from the rays, or by the angles
// between the rays and the directions to the present position.
func (a *adjustment) solve(directions bool) bool {
	n := bandMatrix(make([][halfBand + 1]float64, 3*len(a.at)))
	rhs := make([]float64, 3*len(a.at))
	smooth(n)
	for i := range a.rays {
		r := &a.rays[i]
		if a.weights[i] == 0 {
			continue
		}
		axis, target, reach := r.up, r.middle, a.reach
		if directions {
			present := a.sensor(r.tick)
			axis, reach = between(r.middle, present)
			target = present.add(r.up.across(axis).scale(reach))
		}
		// The direction's standard error is noise·√2/length per axis.
		w := a.weights[i] * r.length * r.length / (2 * a.noise * a.noise * reach * reach)
		k, f := a.locate(r.tick)
		m := perpendicular(axis, w)
		observe(n, rhs, k, f, target, &m)
	}
	if !n.factor() {
		return false
	}
	n.solve(rhs)
	for k := range a.at {
		a.at[k] = vec{rhs[3*k], rhs[3*k+1], rhs[3*k+2]}
	}
	a.factor = n
	return true
}

// smooth adds the observations that second differences are zero, and a very
// weak one that knots are at the origin, which keeps the matrix regular.
func smooth(n bandMatrix) {
	const faint = 1e-10
	for i := range n {
		n[i][0] += faint
	}
	sd := restlessness * windowSeconds * windowSeconds
	w := 1 / (sd * sd)
	coefficients := [3]float64{1, -2, 1}
	for k := 0; k+2 < len(n)/3; k++ {
		for i, ci := range coefficients {
			for j, cj := range coefficients[:i+1] {
				for axis := range 3 {
					n[3*(k+i)+axis][3*(i-j)] += w * ci * cj
				}
			}
		}
	}
}

// A weight is the inverse of the covariance of an observed position.
type weight [3][3]float64

// perpendicular returns the weight of a position that is observed only across
// an axis.
func perpendicular(axis vec, w float64) (m weight) {
	for p := range 3 {
		for q := range 3 {
			m[p][q] = -w * axis[p] * axis[q]
		}
		m[p][p] += w
	}
	return m
}

func (m *weight) apply(v vec) vec { return vec{vec(m[0]).dot(v), vec(m[1]).dot(v), vec(m[2]).dot(v)} }

// observe adds an observation of the position at share f between two knots.
func observe(n bandMatrix, rhs []float64, k int, f float64, target vec, m *weight) {
	t := m.apply(target)
	share := [2]float64{1 - f, f}
	for i, fi := range share {
		for p := range 3 {
			row := 3*(k+i) + p
			rhs[row] += fi * t[p]
			for j, fj := range share[:i+1] {
				for q := range 3 {
					if col := 3*(k+j) + q; col <= row {
						n[row][row-col] += fi * fj * m[p][q]
					}
				}
			}
		}
	}
}

// reweigh computes each ray's residual, their scale, and the weights.
//
// A residual is the angle between ray and sensor times the ray's length: what
// the returns would have to move. With noise per axis and return, half of the
// residuals are below √2·noise·√(2 ln 2).
func (a *adjustment) reweigh() {
	residuals, reaches := make([]float64, len(a.rays)), make([]float64, len(a.rays))
	for i := range a.rays {
		r := &a.rays[i]
		to := a.sensor(r.tick).sub(r.middle)
		reaches[i] = to.norm()
		residuals[i] = to.across(r.up).norm() / reaches[i] * r.length
	}
	a.reach = median(reaches)
	// Coordinates are whole steps: no residual scale is below what that gives.
	a.noise = max(median(residuals)/(math.Sqrt2*math.Sqrt(2*math.Ln2)), 0.3e-4)
	for i, r := range residuals {
		u := r / (tukey * math.Sqrt2 * a.noise)
		a.weights[i] = max(1-u*u, 0) * max(1-u*u, 0)
	}
}

func median(values []float64) float64 {
	return quickQuantile(slices.Clone(values), 0.5)
}

// quickQuantile returns the value below which the given share of some values
// lies, by Hoare's selection; it changes their order.
func quickQuantile(values []float64, share float64) float64 {
	k := min(int(share*float64(len(values))), len(values)-1)
	lo, hi := 0, len(values)-1
	for lo < hi {
		pivot := values[(lo+hi)/2]
		i, j := lo, hi
		for i <= j {
			for values[i] < pivot {
				i++
			}
			for values[j] > pivot {
				j--
			}
			if i <= j {
				values[i], values[j] = values[j], values[i]
				i, j = i+1, j-1
			}
		}
		switch {
		case k <= j:
			hi = j
		case k >= i:
			lo = i
		default:
			return values[k]
		}
	}
	return values[k]
}

// result gives each knot its standard errors.
func (a *adjustment) result() path {
	p := path{first: a.first, knots: make([]knot, len(a.at)), rays: len(a.rays), noise: a.noise, reach: a.reach}
	var sum vec
	for i, w := range a.weights {
		if w > 0 {
			p.used++
			sum = sum.add(a.rays[i].up)
		}
	}
	p.judge(a.factor, sum.scale(1/sum.norm()))
	for k := range p.knots {
		p.knots[k].at = a.at[k]
	}
	return p
}

// judge gives each knot its standard errors, from the factor of the normal
// matrix and the mean direction of the rays.
func (p *path) judge(factor bandMatrix, mean vec) {
	z := factor.inverse()
	for k := range p.knots {
		var c weight
		for i := range 3 {
			for j := range i + 1 {
				c[i][j] = z[3*k+i][i-j]
				c[j][i] = c[i][j]
			}
		}
		trace := c[0][0] + c[1][1] + c[2][2]
		across := max(trace-mean.dot(c.apply(mean)), 0) / 2
		p.knots[k].across = math.Sqrt(across + chord*chord)
		p.knots[k].position = math.Sqrt(trace + 3*chord*chord)
	}
}

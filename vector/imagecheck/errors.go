package imagecheck

import (
	"math"
	"slices"
)

// errors fills in the covariance. Errors of one building's edges go together, so
// it is that of leaving out one building after the other (the jackknife; as an
// estimator for clusters: Bell & McCaffrey 2002); with less than five buildings
// that of the weights.
//
// Few buildings make the variance itself uncertain. What says most of the rotation is
// the buildings far out: of 15 along a street it has seven to eight effective degrees
// of freedom (Satterthwaite 1946), so that 95 % lie within 2.3 standard errors,
// not 1.96. The jackknife errs to the safe side where few buildings carry much
// (Efron & Stein 1981), which makes up for a part of that.
func (c *checker) errors(a *adjustment, all []observation, rows [][unknowns]float64, weights []float64) {
	parts := map[int]*system{}
	var order []int
	sum, total := 0.0, 0.0
	for i := range all {
		if weights[i] == 0 {
			continue
		}
		k := all[i].building
		if parts[k] == nil {
			parts[k] = newSystem(unknowns)
			order = append(order, k)
		}
		parts[k].add(rows[i][:], all[i].offset, weights[i])
		r := all[i].offset - a.predicted(rows[i])
		sum, total = sum+weights[i]*r*r, total+weights[i]
		a.edges++
	}
	a.residual = math.Sqrt(sum / max(total, 1e-12))
	a.groups = len(order)
	slices.Sort(order)
	whole := a.normals(all, rows, weights, func(int) bool { return true })
	a.constrain(whole)
	defer a.addFloor(c.pixel)
	if a.groups < fewGroups {
		if whole.factor() {
			inverse := whole.inverse()
			for i := range unknowns {
				for k := range unknowns {
					a.cov[i][k] = inverse[i*unknowns+k]
				}
			}
		}
		return
	}
	a.leaveOneOut(whole, parts, order)
	lost := c.lost(a, all, rows)
	believed := a.believed(whole)
	for i := range unknowns {
		for k := range unknowns {
			a.cov[i][k] = a.cov[i][k]*lost + believed[i][k]
		}
	}
	a.addHeights(c.knownAlong())
}

// knownAlong reports whether most edges have heights along them.
func (c *checker) knownAlong() bool {
	n := 0
	for i := range c.edges {
		if len(c.edges[i].Heights) > 1 {
			n++
		}
	}
	return 2*n > len(c.edges)
}

// addHeights adds what heights that are all too high or too low do to shift and
// scale beside a lean. What is seen of a roof from the side may be the lower rim of
// its eaves boards or gutters, 10 to 20 cm below the edge (common practice, no
// source); where only one height is known of a building, its verges are higher.
func (a *adjustment) addHeights(along bool) {
	if !a.use[uLeanEast] {
		return
	}
	sigma := 0.3
	if along {
		sigma = 0.15
	}
	var by [unknowns]float64
	by[uEast], by[uNorth], by[uScale] = a.x[uLeanEast], a.x[uLeanNorth], a.x[uLeanAway]
	for i := range unknowns {
		for k := range unknowns {
			a.cov[i][k] += by[i] * by[k] * sigma * sigma / (usualHeight * usualHeight)
		}
	}
}

// believed returns what of the covariance comes of the priors: they are the same
// whichever building is left out, so that the jackknife does not see how wrong they
// may be. With normal equations N and prior weights P it is N⁻¹·P·N⁻¹.
func (a *adjustment) believed(whole *system) (cov [unknowns][unknowns]float64) {
	if !whole.factor() {
		return cov
	}
	inverse := whole.inverse()
	for j, sd := range a.priors() {
		if !a.use[j] {
			continue
		}
		for i := range unknowns {
			for k := range unknowns {
				cov[i][k] += inverse[i*unknowns+j] * inverse[j*unknowns+k] / (sd * sd)
			}
		}
	}
	return cov
}

// fewGroups is the number of buildings below which they say nothing of their own
// scatter.
const fewGroups = 5

func (a *adjustment) leaveOneOut(whole *system, parts map[int]*system, order []int) {
	n := float64(len(order))
	var sets [][]float64
	mean := make([]float64, unknowns)
	for _, k := range order {
		s := newSystem(unknowns)
		for i := range s.mat {
			s.mat[i] = whole.mat[i] - parts[k].mat[i]
		}
		for i := range s.rhs {
			s.rhs[i] = whole.rhs[i] - parts[k].rhs[i]
		}
		x := s.solve()
		if x == nil {
			x = append([]float64(nil), a.x[:]...)
		}
		sets = append(sets, x)
		for i := range mean {
			mean[i] += x[i] / n
		}
	}
	for _, x := range sets {
		for i := range unknowns {
			for k := range unknowns {
				a.cov[i][k] += (x[i] - mean[i]) * (x[k] - mean[k]) * (n - 1) / n
			}
		}
	}
}

func (a *adjustment) sigma(i int) float64 { return math.Sqrt(max(a.cov[i][i], 0)) }

// finest is how well a shift can be known at all, in pixels, however many edges
// there are: pixels are interpolated between, and their apertures are no
// Gaussians. Measured on simulated images, see docs/imagecheck.md.
const finest = 0.015

// addFloor adds what edges cannot tell to the covariance of the shift.
func (a *adjustment) addFloor(pixel float64) {
	for _, i := range [3]int{uEast, uNorth, uBias} {
		a.cov[i][i] += finest * finest * pixel * pixel
	}
}

// lost returns by what the covariance is too small when weights are taken as given:
// an edge's weight falls as it moves off, so that the estimate gives way more than
// they say. It is the square of Σw/Σψ′ (Huber 1981, 6.5), for normal errors 1.46.
func (c *checker) lost(a *adjustment, all []observation, rows [][unknowns]float64) float64 {
	w, slope := 0.0, 0.0
	for i := range all {
		if !all[i].seen {
			continue
		}
		sigma := math.Hypot(all[i].sigma, a.scatter)
		x := (all[i].offset - a.predicted(rows[i])) / sigma / tukey
		if x *= x; x < 1 {
			w += (1 - x) * (1 - x) / (sigma * sigma)
			slope += (1 - x) * (1 - 5*x) / (sigma * sigma)
		}
	}
	const most = 3 // where hardly any edge is in line, the rest says little
	return min(max(w*w/(slope*slope), 1), most)
}

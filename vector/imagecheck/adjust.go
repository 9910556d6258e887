package imagecheck

import (
	"math"
	"slices"
)

// Unknowns of the adjustment, in this order. Rotation, scale and the nadir term
// of the lean are per half extent of the block, so that all are lengths.
const (
	uEast = iota
	uNorth
	uBias
	uRotation
	uScale
	uLeanEast
	uLeanNorth
	uLeanAway
	unknowns
)

// An adjustment is the fit of one geometry of the image to all edges.
type adjustment struct {
	use      [unknowns]bool
	x        [unknowns]float64
	cov      [unknowns][unknowns]float64
	scatter  float64 // standard deviation of an edge, beside its own standard error
	camera   float64 // height of a single camera above ground; 0 for unknown
	half     float64 // half extent of the block in metres
	edges    int
	groups   int
	residual float64 // weighted RMS
}

// row returns the coefficients of an edge's offset.
func (a *adjustment) row(o *observation, height float64, outline bool) [unknowns]float64 {
	m := o.middle.mul(1 / a.half)
	r := [unknowns]float64{
		uEast: o.normal.x, uNorth: o.normal.y,
		uRotation: o.normal.dot(vec{-m.y, m.x}), uScale: o.normal.dot(m),
	}
	if outline {
		r[uBias] = 1
	}
	if a.camera > 0 {
		height /= 1 - min(height/a.camera, 0.5) // lean goes with h/(H − h)
	}
	if !math.IsNaN(height) {
		const usual = 5.0 // metres: makes the lean a length as well
		r[uLeanEast], r[uLeanNorth], r[uLeanAway] = height/usual*o.normal.x, height/usual*o.normal.y, height/usual*o.normal.dot(m)
	}
	for i, on := range a.use {
		if !on {
			r[i] = 0
		}
	}
	return r
}

// usualHeight is that of row.
const usualHeight = 5.0

// priors are standard deviations in metres that keep unknowns finite which the
// edges say nothing about.
func (a *adjustment) priors() [unknowns]float64 {
	p := [unknowns]float64{uEast: 5, uNorth: 5, uBias: 0.5, uRotation: 0.005 * a.half, uScale: 0.005 * a.half, uLeanEast: 5, uLeanNorth: 5, uLeanAway: 20}
	if a.use[uLeanEast] {
		// Lean of equal heights and a false scale look the same, but no image is
		// out of scale by more than a thousandth or two.
		p[uRotation], p[uScale] = 0.002*a.half, 0.002*a.half
	}
	return p
}

// predicted returns the offset that the fit gives an edge.
func (a *adjustment) predicted(row [unknowns]float64) float64 {
	sum := 0.0
	for i, v := range row {
		sum += v * a.x[i]
	}
	return sum
}

// adjust fits a geometry to the edges, choosing for each the step nearest to
// where the fit has it, with Tukey's weights for what lies far off. camera is the
// height of a single camera, 0 where that is not known.
//
// Which steps are chosen and what is fitted to them hold each other up: a roof and
// its gutter are two steps, and a fit to the roof on one side and to the gutter on
// the other finds its own choice the nearest. So it is tried from three sizes, and
// the one that the edges agree with best counts.
func (c *checker) adjust(all []observation, use [unknowns]bool, camera float64) *adjustment {
	a := &adjustment{use: use, half: c.half, camera: camera}
	rows := make([][unknowns]float64, len(all))
	for i := range all {
		e := &c.edges[all[i].edge]
		rows[i] = a.row(&all[i], c.heightOf(&all[i]), e.Outline)
		all[i].choose(all[i].expected, 3*all[i].pixel)
	}
	if !c.settle(a, all, rows, 3) {
		return nil
	}
	var tries []adjustment
	for _, by := range [3]float64{0, 1, -1} { // pixels
		t := *a
		if t.use[uBias] {
			t.x[uBias] += by * c.pixel
		}
		if c.choosing(&t, all, rows) {
			tries = append(tries, t)
		}
	}
	if len(tries) == 0 {
		return nil
	}
	best := c.best(tries, all, rows)
	best.chooseAll(all, rows)
	if !c.settle(best, all, rows, 4) {
		return nil
	}
	c.errors(best, all, rows, c.weights(best, all, rows, true))
	return best
}

// settle solves so many times, each with weights from the last solution.
func (c *checker) settle(a *adjustment, all []observation, rows [][unknowns]float64, rounds int) bool {
	for range rounds {
		known := a.scatter > 0
		c.spread(a, all, rows)
		if !a.solve(all, rows, c.weights(a, all, rows, known)) {
			return false
		}
	}
	return true
}

// choosing solves with steps that are chosen anew each time.
func (c *checker) choosing(a *adjustment, all []observation, rows [][unknowns]float64) bool {
	const rounds = 6
	for range rounds {
		a.chooseAll(all, rows)
		if !c.settle(a, all, rows, 1) {
			return false
		}
	}
	return true
}

// chooseAll takes for each edge the step that the fit has there.
func (a *adjustment) chooseAll(all []observation, rows [][unknowns]float64) {
	for i := range all {
		all[i].choose(a.predicted(rows[i]), max(all[i].pixel/2, 2*a.scatter))
	}
}

// best returns the fit whose edges are nearest to it, each counted up to a limit,
// all by the smallest scatter of any.
func (c *checker) best(tries []adjustment, all []observation, rows [][unknowns]float64) *adjustment {
	scatter := 2 * c.pixel
	for k := range tries {
		scatter = min(scatter, tries[k].scatter)
	}
	best, least := 0, math.Inf(1)
	for k := range tries {
		tries[k].chooseAll(all, rows)
		sum := 0.0
		for i := range all {
			if all[i].seen {
				x := (all[i].offset - tries[k].predicted(rows[i])) / math.Hypot(all[i].sigma, scatter) / tukey
				x = 1 - min(x*x, 1)
				sum += 1 - x*x*x // Tukey's function of a residual
			}
		}
		if sum < least {
			best, least = k, sum
		}
	}
	return &tries[best]
}

// heightOf returns the height of an edge: its own, or that of its building.
func (c *checker) heightOf(o *observation) float64 {
	if h := c.edges[o.edge].meanHeight(); !math.IsNaN(h) {
		return h
	}
	return c.groups[o.building].height
}

// choose takes the step that is both large and near to a prediction.
func (o *observation) choose(predicted, tolerance float64) {
	top := 0.0
	o.seen = false
	for _, k := range o.candidates {
		d := (k.offset - predicted) / tolerance
		if v := math.Sqrt(k.size) / (1 + d*d); v > top {
			top, o.offset, o.sigma, o.seen = v, k.offset, k.sigma, true
		}
	}
}

// spread estimates the scatter of edges beside their own standard errors, from
// the median of residuals.
func (c *checker) spread(a *adjustment, all []observation, rows [][unknowns]float64) {
	var square []float64
	for i := range all {
		if all[i].seen {
			r := all[i].offset - a.predicted(rows[i])
			square = append(square, r*r-all[i].sigma*all[i].sigma)
		}
	}
	floor := 0.02 * c.pixel
	a.scatter = max(math.Sqrt(max(median(square), 0)/0.4549), floor) // median of χ² with one degree
}

// tukey is where Tukey's weights end, in standard deviations: 95 % efficiency
// (Beaton & Tukey 1974).
const tukey = 4.685

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

// weights returns the weight of each edge: 0 for one that is not seen.
func (c *checker) weights(a *adjustment, all []observation, rows [][unknowns]float64, robust bool) []float64 {
	w := make([]float64, len(all))
	for i := range all {
		if !all[i].seen {
			continue
		}
		sigma := math.Hypot(all[i].sigma, a.scatter)
		w[i] = 1 / (sigma * sigma)
		if robust {
			x := (all[i].offset - a.predicted(rows[i])) / sigma / tukey
			if x = 1 - x*x; x > 0 {
				w[i] *= x * x
			} else {
				w[i] = 0
			}
		}
	}
	return w
}

// normals returns the normal equations of some edges.
func (a *adjustment) normals(all []observation, rows [][unknowns]float64, weights []float64, pick func(i int) bool) *system {
	s := newSystem(unknowns)
	for i := range all {
		if weights[i] > 0 && pick(i) {
			s.add(rows[i][:], all[i].offset, weights[i])
		}
	}
	return s
}

func (a *adjustment) constrain(s *system) {
	for i, sd := range a.priors() {
		if a.use[i] {
			s.addPrior(i, 1/(sd*sd))
		} else {
			s.addPrior(i, 1e12)
		}
	}
}

func (a *adjustment) solve(all []observation, rows [][unknowns]float64, weights []float64) bool {
	s := a.normals(all, rows, weights, func(int) bool { return true })
	a.constrain(s)
	x := s.solve()
	if x == nil {
		return false
	}
	copy(a.x[:], x)
	return true
}

// errors fills in the covariance. Errors of one building's edges go together, so
// it is that of leaving out one building after the other (the jackknife; as an
// estimator for clusters: Bell & McCaffrey 2002); with less than five buildings
// that of the weights.
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

package imagecheck

import "math"

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

// choosing solves with steps that are chosen anew each time, and lets the scatter
// come to rest in between: the next choice is as wide as that, and with what it was
// before the fit moved to the roof on all sides it goes back to the gutter on some.
func (c *checker) choosing(a *adjustment, all []observation, rows [][unknowns]float64) bool {
	const rounds, rest = 6, 3
	for range rounds {
		a.chooseAll(all, rows)
		if !c.settle(a, all, rows, rest) {
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

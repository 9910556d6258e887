package outline

import (
	"fmt"
	"math"
	"slices"
)

// Fit returns the outline of the building whose observations are given.
//
// All lengths are metres about a local origin. The order of obs does not matter, and obs is not changed; concurrent calls are safe.
// Errors: faulty measures or options, ErrNotFinite, ErrTooFew. Any other lack is told by Result.Regular and Result.Reasons. Time is
// near linear in the observations close to the outline.
//
// The method is the joint fit of all edges to "which side is each point on, blurred by its noise": docs/outline.md.
func Fit(obs []Observation, m Measures, o Options) (Result, error) {
	if err := m.validate(); err != nil {
		return Result{}, fmt.Errorf("outline: fit: %w", err)
	}
	if err := o.Validate(); err != nil {
		return Result{}, fmt.Errorf("outline: fit: %w", err)
	}
	f, err := newFitter(obs, m, o)
	if err != nil {
		return Result{}, fmt.Errorf("outline: fit: %w", err)
	}
	best := f.outline()
	if best == nil {
		return Result{}, fmt.Errorf("outline: fit: %w", ErrTooFew)
	}
	sound := best.sound()
	if !sound {
		best = f.lastResort()
	}
	r := f.describe(best)
	f.review(&r, sound)
	if sound {
		f.roundOff(&r, best)
	}
	return r, nil
}

// A fitter is one building at work.
type fitter struct {
	obs      []Observation // about the origin, in the order of the field
	ox, oy   float64
	measures Measures
	options  Options
	l        *likelihood
	steps    int // of the last climb to the end
}

func newFitter(obs []Observation, m Measures, o Options) (*fitter, error) {
	f := &fitter{measures: m, options: o}
	inside := 0
	for _, p := range obs {
		if v := p.X + p.Y; math.IsNaN(v) || math.IsInf(v, 0) {
			return nil, ErrNotFinite
		}
		if p.Side > Unknown {
			return nil, fmt.Errorf("side %d is not known", p.Side)
		}
		if p.Side == Inside {
			inside++
		}
	}
	if inside < 6 {
		return nil, ErrTooFew
	}
	f.obs = slices.Clone(obs)
	f.centre()
	grid := newField(f.obs, 3*m.Spacing)
	f.obs = grid.observations()
	f.l = newLikelihood(grid, m, o.Mislabel)
	return f, nil
}

// centre moves the origin to the middle of the roof's box, whole metres, so that no product of coordinates is large.
func (f *fitter) centre() {
	x0, y0, x1, y1 := math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)
	for _, p := range f.obs {
		if p.Side == Inside {
			x0, y0, x1, y1 = min(x0, p.X), min(y0, p.Y), max(x1, p.X), max(y1, p.Y)
		}
	}
	f.ox, f.oy = math.Round(x0+(x1-x0)/2), math.Round(y0+(y1-y0)/2)
	for i := range f.obs {
		f.obs[i].X -= f.ox
		f.obs[i].Y -= f.oy
	}
}

// minHole is the least area of a courtyard: what the user says, and twelve points.
func (f *fitter) minHole() float64 {
	return max(f.options.MinHole, 12*f.measures.Spacing*f.measures.Spacing)
}

// startCell is the size of the cells of the first raster.
func (f *fitter) startCell() float64 { return max(1.5*f.measures.Spacing, 3*f.measures.Sigma) }

// direction is the main direction of the border.
func (f *fitter) direction() float64 {
	cell := f.startCell()
	flat := newRaster(f.obs, 0, cell, true)
	return mainDirection(flat.boundaryPoints(flat.labels()), 0.4*cell)
}

// rectilinearStart traces the majority raster in the main direction and joins its steps. nil when no roof is left.
func (f *fitter) rectilinearStart(theta float64) *model {
	const ratio = 3
	cell := f.startCell()
	fine := newRaster(f.obs, theta, cell/ratio, false)
	coarse := fine.coarsen(ratio)
	lab := coarse.labels()
	rings := trace(coarse, coarse.body(lab, f.minHole(), f.measures.Spacing), ratio)
	if len(rings) == 0 {
		return nil
	}
	l := &lattice{rows: fine.rows, cols: fine.cols, sums: runningSums(fine, coarse, lab, ratio), rings: rings}
	l.collapse(4)
	return l.outline(fine, theta)
}

// anneal fits all parameters, from a noise of half a spacing down to the floor.
//
// Where the floor is much below the spacing an edge can lie in a gap in which the likelihood is flat. A five-hundredth of the log-likelihood at
// half a spacing is then kept: it is what puts the edge near the middle of its gap, the best place when all of it is as likely (Pitman
// 1939), and it moves an edge that its points do hold by less than as small a part of the difference between the two.
func (f *fitter) anneal(m *model, tolerance float64) {
	floor, wide := floorSigma(m, f.l, f.measures), f.measures.Spacing/2
	for sigma := max(floor, wide); sigma > 1.01*floor; sigma /= 2 {
		f.l.run(m, climb{sigma: sigma, cap: f.measures.Spacing, tolerance: 0.1 * sigma, rounds: 10, over: f.l.all()})
	}
	last := climb{sigma: floor, cap: max(floor, f.measures.Spacing/4), tolerance: tolerance * floor, rounds: 80, over: f.l.all()}
	if wide > 2*floor {
		last.wide, last.share = wide, 0.002
	}
	_, f.steps = f.l.ascend(m, last)
}

// prepare gives a start its pulls and fits it.
func (f *fitter) prepare(m *model) {
	m.setPulls(f.l.field, f.measures)
	f.anneal(m, 0.05)
}

// choose drops from a prepared start what the observations do not ask for, adds what they do, and fits the rest to the end.
func (f *fitter) choose(start *model) *model {
	c := f.chooser(start)
	m := c.name(start)
	var last *model // the last that was sound
	for round := range 4 {
		c.sigma = floorSigma(m, f.l, f.measures)
		clear(c.known)
		clear(c.refused)
		next := c.refine(c.simplify(m))
		if next == m && round > 0 {
			break
		}
		m = next.clone()
		m.setPulls(f.l.field, f.measures)
		f.anneal(m, 1e-4)
		if m.sound() {
			last = m.clone()
		}
	}
	if last != nil && !m.sound() {
		return last
	}
	return m
}

func (f *fitter) chooser(m *model) *chooser {
	return &chooser{
		l: f.l, m: f.measures, o: f.options, sigma: floorSigma(m, f.l, f.measures),
		known: map[key]float64{}, refused: map[key]bool{},
	}
}

// outline is the best of the models that the starts lead to; nil without a roof. The start without right angles is made only when
// the rectilinear one leaves something unexplained, or looks like a staircase along a wall; the more promising of the two is worked out
// first, and the other only if that does not explain the observations either.
func (f *fitter) outline() *model {
	theta := f.direction()
	square := f.rectilinearStart(theta)
	if square == nil {
		return nil
	}
	f.prepare(square)
	f.raiseFloor(square)
	var first *model
	if f.explained(square) {
		if first = f.choose(square); f.explained(first) {
			return first
		}
	}
	free := f.generalStart(theta)
	if free == nil {
		return f.better(first, f.choose(square))
	}
	f.prepare(free)
	starts := []*model{square, free}
	if f.better(square, free) == free {
		starts = []*model{free, square}
	}
	done := first != nil
	for _, start := range starts {
		if start == square && done {
			continue
		}
		next := f.choose(start)
		if first = f.better(first, next); f.explained(first) {
			break
		}
	}
	return first
}

// raiseFloor lets the label floor follow the share of wrong sides far from a first outline, between what the options say and 5 %: where labels are
// worse than thought, each would otherwise pull at the edges, or ask for a step, with more than its weight.
func (f *fitter) raiseFloor(m *model) {
	f.l.surprise(m, floorSigma(m, f.l, f.measures))
	share := (float64(f.l.farWrong) + 1) / (float64(f.l.farAll) + 200)
	f.l.mislabel = min(max(share, f.options.Mislabel), max(0.05, f.options.Mislabel))
}

// better is the model with the higher likelihood less its price, of those that are sound; a if neither is. Either may be nil.
func (f *fitter) better(a, b *model) *model {
	switch {
	case a == nil || !a.sound() && b != nil && b.sound():
		return b
	case b == nil || !b.sound():
		return a
	}
	sigma := max(floorSigma(a, f.l, f.measures), floorSigma(b, f.l, f.measures))
	c := f.chooser(a)
	if f.l.at(b, sigma, f.l.all(), nil)-c.cost(b) > f.l.at(a, sigma, f.l.all(), nil)-c.cost(a) {
		return b
	}
	return a
}

// explained tells whether the observations near a model are about as likely as the model says they should be, and its edges are not
// mostly short steps.
func (f *fitter) explained(m *model) bool {
	spans := m.spans(0, nil)
	short := 0
	for i := range spans {
		if spans[i].length() < max(1, 4*f.measures.Spacing) {
			short++
		}
	}
	return short < 3 && f.l.surprise(m, floorSigma(m, f.l, f.measures)) < 4 && m.sound()
}

// lastResort is the box of the roof points in the main direction: what remains when no fit is a valid polygon.
func (f *fitter) lastResort() *model {
	m := &model{theta: []float64{f.direction()}}
	ring := make([]edge, 4)
	for q := range ring {
		nx, ny := normal(m.theta[0], q)
		ring[q] = edge{quarter: q, offset: math.Inf(-1)}
		for _, o := range f.obs {
			if o.Side == Inside {
				ring[q].offset = max(ring[q].offset, nx*o.X+ny*o.Y+f.measures.Spacing/100)
			}
		}
	}
	m.rings = [][]edge{ring}
	return m
}

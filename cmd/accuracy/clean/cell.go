package clean

import (
	"fmt"
	"math"
	"math/rand/v2"

	"github.com/paulmach/orb"

	"quoin/extract/outline"
	"quoin/vector"
	"quoin/vector/accuracy"
	"quoin/vector/accuracy/bound"
)

// A Cell is one kind of measurement.
type Cell struct {
	// Density is in pulses per square metre, Noise and Beam (the half-width in
	// which pulses are split) in centimetres.
	Density, Noise, Beam float64
	Sampling             Sampling
}

func (c Cell) String() string {
	return fmt.Sprintf("%g/m², noise %g cm, beam %g cm, %s", c.Density, c.Noise, c.Beam, c.Sampling)
}

// A Baseline outlines roof points in plain ways, told the topology.
type Baseline func(roof []orb.Point, topologyOf orb.Polygon, spacing float64) ([]orb.Polygon, error)

// An Outcome is what a cell came to.
type Outcome struct {
	Cell    Cell
	Fit     Tally
	Plain   []Tally // the baseline, by its ways; nil where it was not run
	Exact   accuracy.Share
	Cover   accuracy.Share // corners within their 95 % ellipse
	Squares float64        // sum of normalised squared errors over 2
	Outward float64        // sum of sides' offsets, metres
	Sides   int
}

// A Tally sums squared errors of corners, and the least they could be, over
// buildings, so that ratios have standard errors.
type Tally struct {
	Buildings int
	Corners   int
	Errors    float64 // Σ of squared errors, m²
	Bound     float64 // Σ of least variances of the same corners, m²
	InSquares float64 // Σ of squared errors over the spacing's square
	// of the buildings' sums: Σe², Σeb, Σb²
	ee, eb, bb float64
}

func (t *Tally) add(errors, bound, spacing float64, corners int) {
	t.Buildings++
	t.Corners += corners
	t.Errors, t.Bound, t.InSquares = t.Errors+errors, t.Bound+bound, t.InSquares+errors/(spacing*spacing)
	t.ee, t.eb, t.bb = t.ee+errors*errors, t.eb+errors*bound, t.bb+bound*bound
}

// Plus pools two tallies.
func (t Tally) Plus(o Tally) Tally {
	return Tally{
		t.Buildings + o.Buildings, t.Corners + o.Corners, t.Errors + o.Errors, t.Bound + o.Bound, t.InSquares + o.InSquares,
		t.ee + o.ee, t.eb + o.eb, t.bb + o.bb,
	}
}

// RMSE returns the radial root mean square error of a corner in metres, and
// that in spacings.
func (t Tally) RMSE() (metres, spacings float64) {
	n := float64(t.Corners)
	return math.Sqrt(t.Errors / n), math.Sqrt(t.InSquares / n)
}

// Ratio returns RMSE ÷ bound, and its one-sided 99 % lower limit: that of a
// ratio of sums over buildings (Cochran, Sampling Techniques, 1977, section
// 6.4), since the corners of one building err together.
func (t Tally) Ratio() (ratio, lower float64) {
	r := t.Errors / t.Bound
	n := float64(t.Buildings)
	spread := math.Sqrt(max(t.ee-2*r*t.eb+r*r*t.bb, 0)*n/(n-1)) / t.Bound
	const onePercent = 2.326
	return math.Sqrt(r), math.Sqrt(max(r-onePercent*spread, 0))
}

// Run measures the fit on a number of buildings of a cell, and the baseline
// when one is given. The seed and the cell say what the buildings are.
func (c Cell) Run(buildings int, seed uint64, plain Baseline) (Outcome, error) {
	o := Outcome{Cell: c}
	for i := range buildings {
		rng := rand.New(rand.NewPCG(seed, uint64(i)))
		p := newPlan(i, rng)
		s := c.fly(p, rng)
		least, err := bound.Corners([]bound.Ring{p.ring}, s.views)
		if err != nil {
			return o, fmt.Errorf("%v: %w", c, err)
		}
		if err := o.score(p, least, c.fit(s.observations)); err != nil {
			return o, fmt.Errorf("%v: %w", c, err)
		}
		if plain == nil || i >= mostPlain {
			continue
		}
		if err := o.scorePlain(p, least, roofOf(s.observations), plain); err != nil {
			return o, fmt.Errorf("%v: baseline: %w", c, err)
		}
	}
	return o, nil
}

// mostPlain is the number of buildings of a cell that the baseline outlines,
// which takes longer than the fit.
const mostPlain = 40

func (c Cell) spacing() float64 { return 1 / math.Sqrt(c.Density) }

// fit returns what the fit makes of the observations as a footprint, nil when
// that is nothing.
func (c Cell) fit(observations []outline.Observation) *vector.Footprint {
	m := outline.Measures{Spacing: c.spacing(), Sigma: c.Noise / 100, Beam: c.Beam / 100}
	result, err := outline.Fit(observations, m, outline.DefaultOptions(m))
	if err != nil {
		return nil
	}
	f := &vector.Footprint{}
	for r, ring := range result.Rings {
		var closed orb.Ring
		for v, p := range ring.Vertices {
			closed = append(closed, orb.Point{p.X, p.Y})
			f.Corners = append(f.Corners, vector.Corner{
				Ring: r, Vertex: v, Point: orb.Point{p.X, p.Y}, Kind: vector.Adjusted,
				SigmaE: math.Sqrt(p.CovXX), SigmaN: math.Sqrt(p.CovYY), CovEN: p.CovXY,
			})
		}
		f.Polygon = append(f.Polygon, append(closed, closed[0]))
	}
	return f
}

// compare scores a footprint; nil where it is not the building at all.
func (o *Outcome) compare(p plan, f *vector.Footprint) (*accuracy.Pair, error) {
	if f == nil {
		return nil, nil
	}
	truth := []accuracy.Building{{ID: "one", Polygon: p.polygon()}}
	block, err := accuracy.Score(truth, []vector.Footprint{*f}, accuracy.Options{Spacing: o.Cell.spacing()})
	if err != nil || len(block.Pairs) == 0 {
		return nil, err
	}
	return &block.Pairs[0], nil
}

func (o *Outcome) score(p plan, least []float64, f *vector.Footprint) error {
	pair, err := o.compare(p, f)
	if err != nil || pair == nil {
		o.Exact.N++
		return err
	}
	o.Exact = o.Exact.With(pair.Exact)
	o.Fit.addPair(p, least, pair, o.Cell.spacing())
	for _, c := range pair.Corners {
		square := c.NormalisedSquare()
		o.Cover = o.Cover.With(square <= 5.991) // χ² of two degrees of freedom
		o.Squares += square / 2
	}
	for _, s := range pair.Sides {
		o.Outward += s.Offset
		o.Sides++
	}
	return nil
}

func (o *Outcome) scorePlain(p plan, least []float64, roof []orb.Point, plain Baseline) error {
	polygons, err := plain(roof, p.polygon(), o.Cell.spacing())
	if err != nil {
		return err
	}
	if o.Plain == nil {
		o.Plain = make([]Tally, len(polygons))
	}
	for k, polygon := range polygons {
		pair, err := o.compare(p, &vector.Footprint{Polygon: polygon})
		if err != nil {
			return err
		}
		if pair != nil {
			o.Plain[k].addPair(p, least, pair, o.Cell.spacing())
		}
	}
	return nil
}

// addPair adds the matched corners of a building.
func (t *Tally) addPair(p plan, least []float64, pair *accuracy.Pair, spacing float64) {
	var errors, bound float64
	for _, c := range pair.Corners {
		errors += c.Delta[0]*c.Delta[0] + c.Delta[1]*c.Delta[1]
		for i, v := range p.ring {
			if c.At == orb.Point(v) {
				bound += least[i]
			}
		}
	}
	if len(pair.Corners) > 0 {
		t.add(errors, bound, spacing, len(pair.Corners))
	}
}

func roofOf(observations []outline.Observation) []orb.Point {
	var roof []orb.Point
	for _, o := range observations {
		if o.Side != outline.Outside {
			roof = append(roof, orb.Point{o.X, o.Y})
		}
	}
	return roof
}

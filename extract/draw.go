package extract

import (
	"cmp"
	"context"
	"errors"
	"slices"

	"quoin/extract/cloud"
	"quoin/extract/form"
	"quoin/extract/outline"
	"quoin/vector"
)

// A drawing is one building on its way from roof points to a footprint.
type drawing struct {
	number    int32 // as in surroundings.roofOf
	shape     *roofShape
	reasons   []vector.Reason // what the roof stage found
	plan      plan
	adjusted  *outline.Result // what the plan came of
	cut       bool            // part of the outline was cut off where it met a neighbour's
	edgeRMS   float64
	areaSigma float64         // square metres
	corners   []vector.Corner // of the plan, before outlines were brought together
	footprint vector.Footprint
	form      form.Roof
	agreement outline.SwathEvidence
	kept      []outline.Observation // of the sample, until the outline is fitted
	swaths    float64               // effective number of swaths that show the building
	failed    error                 // the fit gave no outline
}

// noiseSample is the number of buildings whose edges the noise of positions
// and the width of the beam are estimated from: more than enough edges for a
// per cent, and a small part of the work on a large block.
const noiseSample = 48

// mostKept is the largest number of observations of a building of the sample
// that are kept until its outline is fitted, rather than made again: all
// together take 50 MB at most.
const mostKept = 40_000

// beamDoubt is the standard error of where a beam begins to be seen to be split,
// in half-widths of the beam. It hangs on how bright roof and ground are and on
// what stands beneath the edge, which the points do not tell: in simulated
// clouds pooled edges of a block lie 0.1 to 0.4 half-widths further out for it.
const beamDoubt = 0.2

// draw fits the outline of every building: first of a sample, to measure from
// its edges how noisy positions and how wide the beam are, then of all with
// what was measured.
func draw(ctx context.Context, s *surroundings, buildings []*drawing, o Options) (pulses pulseNoise, disagreement float64, err error) {
	m := outline.Measures{
		Spacing: s.measures.Spacing, Sigma: s.measures.Sigma, Beam: s.measures.Beam,
		SplitsMerged: !s.block.HasTime || !s.block.HasReturns,
	}
	sample := sampleOf(buildings)
	profiler := outline.NewProfiler(fitOptions(m, o).Mislabel)
	evidence := make([]outline.NoiseEvidence, len(sample))
	swaths := make([][]swathEvidence, len(sample))
	err = each(ctx, o, len(sample), func(i int) error {
		obs := s.observe(sample[i].number, sample[i].shape)
		if len(obs) <= mostKept {
			sample[i].kept = obs
		}
		if result, err := outline.Fit(obs, m, fitOptions(m, o)); err == nil {
			evidence[i] = profiler.Evidence(obs, m, result)
			swaths[i] = bySwath(profiler, obs, m, result, s.headings)
		}
		return nil
	})
	if err != nil {
		return pulses, 0, err
	}
	var pooled outline.NoiseEvidence
	for _, e := range evidence {
		pooled.Add(e)
	}
	if sigma, beam, ok := outline.EstimateNoise(pooled); ok {
		m.Sigma = sigma
		if !m.SplitsMerged { // else the edges can't tell the beam
			m.Beam = beam
		}
	}
	m.BeamDoubt = beamDoubt * m.Beam
	pulses = measurePulses(m, swaths, s.headings)
	need := func(i int) (string, int64) {
		d := buildings[i]
		return "the outline of the building on " + place(s.block.Frame, d.shape.roofBounds()), bytesPerRoofPoint * int64(len(d.shape.points))
	}
	err = eachWithin(ctx, o, len(buildings), need, func(i int) error {
		buildings[i].fit(s, &pulses, o)
		return nil
	})
	if err == nil {
		joinWalls(buildings, wallGate(s.measures))
		disagreement = spread(buildings)
	}
	return pulses, disagreement, err
}

// bytesPerRoofPoint is about what fitting an outline needs for each point of its
// roof, those around it included.
const bytesPerRoofPoint = 600

// spread finds by how much swaths disagree about where edges are, beyond
// sampling and noise, and adds it to the covariance of every vertex: a swath's
// calibration and drift move a whole building, and only its other swaths
// average that out.
func spread(buildings []*drawing) float64 {
	var pooled outline.SwathEvidence
	for _, d := range buildings {
		pooled.Add(d.agreement)
	}
	sigma := pooled.Disagreement()
	for _, d := range buildings {
		if d.adjusted != nil {
			d.adjusted.AddShift(sigma * sigma / d.swaths)
		}
	}
	return sigma
}

// effective is the number of equal swaths that average as well as those of the
// observations, by their shares.
func effective(obs []outline.Observation) float64 {
	counts := make(map[uint16]int)
	for _, o := range obs {
		counts[o.Swath]++
	}
	var squares int // whole numbers, so that the order of the map does not matter
	for _, n := range counts {
		squares += n * n
	}
	return float64(len(obs)) * float64(len(obs)) / float64(squares)
}

func fitOptions(m outline.Measures, o Options) outline.Options {
	f := outline.DefaultOptions(m)
	f.MinJog = o.MinJog
	return f
}

// sampleOf returns buildings by the order of their names, which are hashes.
func sampleOf(buildings []*drawing) []*drawing {
	sample := slices.Clone(buildings)
	slices.SortFunc(sample, func(a, b *drawing) int { return cmp.Compare(a.footprint.ID, b.footprint.ID) })
	return sample[:min(len(sample), noiseSample)]
}

// fit draws one building. Where no outline comes of it, failed says why.
func (d *drawing) fit(s *surroundings, pulses *pulseNoise, o Options) {
	obs := d.kept
	if d.kept = nil; obs == nil {
		obs = s.observe(d.number, d.shape)
	}
	m := pulses.of(obs)
	result, err := d.closed(obs, m, fitOptions(m, o))
	if err != nil {
		d.failed = err
		return
	}
	d.plan, d.adjusted = plan{rings: result.Rings}, &result
	d.edgeRMS, d.areaSigma = result.EdgeRMS, result.AreaSigma
	d.agreement = outline.Agreement(obs, m, pulses.withinSwaths(m), result)
	d.swaths = effective(obs)
	for _, r := range result.Reasons {
		d.reasons = append(d.reasons, vector.Reason(r))
	}
	if open(obs, result.Rings, s.measures) {
		d.reasons = append(d.reasons, vector.ReviewOpenRoof)
	}
	if !result.Regular {
		d.reasons = append(d.reasons, vector.ReviewIrregular)
	}
}

// coarser is by how much longer the shortest edge is made where an outline does not
// close around its points, and coarserRounds how often.
const (
	coarser       = 4
	coarserRounds = 2
)

// closed fits an outline that closes around the points. Where nothing is seen beyond
// an edge, as at the end of the data, two edges that nearly go on in each other can
// meet far out; with fewer of them they don't, and a person has to look.
func (d *drawing) closed(obs []outline.Observation, m outline.Measures, f outline.Options) (outline.Result, error) {
	for round := range coarserRounds + 1 {
		result, err := outline.Fit(obs, m, f)
		switch {
		case err != nil:
			return result, err
		case len(result.Rings) == 0:
			return result, errors.New("no ring")
		case d.shape.holds(result.Rings):
			result.Regular = result.Regular && round == 0
			return result, nil
		}
		f.MinJog *= coarser
	}
	return outline.Result{}, errors.New("the edges do not close around the points")
}

// finish fills in what the footprint says beside its outline.
func (d *drawing) finish(terrain *cloud.Raster[float32], hag []float32, frame cloud.Frame) {
	h, up := d.measureHeights(terrain, hag, d.plan.rings[0].Vertices), frame.Vertical
	f := &d.footprint
	f.Reference = vector.RoofEdge
	f.LowestGround, f.GroundElevation, f.HighestGround = h.lowestGround/up, h.ground/up, h.highestGround/up
	f.EaveHeight, f.RidgeHeight = (h.eave-h.ground)/up, (h.ridge-h.ground)/up
	f.GeneralRoof, f.HighestPoint = h.roof/up, h.highest/up
	f.PointCount = len(d.shape.points)
	f.EdgeRMS = d.edgeRMS / frame.Horizontal
	f.AreaSigma = d.areaSigma / (frame.Horizontal * frame.Horizontal)
	if d.cut {
		d.reasons = append(d.reasons, vector.ReviewAdjoining)
	}
	slices.Sort(d.reasons)
	f.Review = slices.Compact(d.reasons)
}

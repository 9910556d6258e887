package swath

import (
	"math"

	"quoin/extract/cloud"
)

// assumedSigmaZ is the noise in metres about a smooth surface where nothing
// smooth was found to measure it on. Common practice, no source.
const assumedSigmaZ = 0.03

// A Result is what Measure returns.
type Result struct {
	Measures   cloud.Measures
	Trajectory *Trajectory
	Report     Report
}

// Measure returns what a block's points tell of its density, its noise and
// the way of its sensors, on the given number of workers (all cores when not
// positive). The result does not depend on that number, nor on the order of
// points; an empty block gives stated defaults and zeros. The block is not
// changed.
func Measure(b *cloud.Block, workers int) Result {
	v := survey(b, workers)
	r := Report{Density: thickness(b, workers)}
	r.Spacing = spacing(r.Density.Median)
	planes := patches(b, v.fleet, r.Density, workers)
	f := sortFinishes(planes)
	r.Surface = f.surface(r.Density)
	r.Swaths = v.swaths(planes, r.Surface.class)
	r.Located, r.Turning = v.shares()
	r.Pairs = compare(planes, r.Surface.Within)
	u := searchUprights(b, r.Density, workers)
	r.Sigma = f.horizontalNoise(u, r.Surface).withShifts(r.Pairs)
	r.Beam = beamWidth(u, r.Sigma.Value, v.usualRange())
	return Result{
		Measures: cloud.Measures{
			Density: r.Density.Median, Spacing: r.Spacing, SigmaZ: r.Surface.Together,
			Sigma: r.Sigma.Value, Beam: r.Beam.Value,
		},
		Trajectory: v.trajectory,
		Report:     r,
	}
}

// noiseHistogram is for standard deviations up to half a metre, in 0.1 mm.
func noiseHistogram() *histogram { return newHistogram(1e-4, 0.5) }

// levelSlope and roofSlope bound, by their tangents (10°, 15° to 50°), what
// counts as level and as sloping.
const (
	levelSlope = 0.176
	roofFrom   = 0.268
	roofTo     = 1.19
)

// smoothShare is how many values, in shares of the most that lie near any, are
// a considerable group: the smoother one is taken even where the rougher has
// three times as many. Split pulses have but one beam: nearly the most.
const (
	smoothShare = 0.3
	edgePeak    = 0.7
)

// A class is that of surfaces by their slope.
type class int

const (
	anySlope class = iota
	level
	sloping
)

func (c class) holds(p *patch) bool {
	switch s := p.slopeSq(); c {
	case level:
		return s < levelSlope*levelSlope
	case sloping:
		return s > roofFrom*roofFrom && s < roofTo*roofTo
	}
	return true
}

// leastClass is the least number of smooth patches of a class that tell a
// noise.
const leastClass = 50

// A finish is the noise about one class of surfaces: level or sloping.
type finish struct {
	class            class
	within, together *histogram
	slopes           *histogram // squares of the sine of the slope
}

func newFinish(c class) finish {
	return finish{c, noiseHistogram(), noiseHistogram(), newHistogram(1e-3, 1)}
}

func (f *finish) add(p *patch) {
	f.within.add(p.within)
	f.together.add(p.together)
	f.slopes.add(p.slopeSq() / (1 + p.slopeSq()))
}

// A finishes is the noise about level and about sloping surfaces, and about
// all.
type finishes struct{ level, sloping, all finish }

func sortFinishes(planes []patch) finishes {
	f := finishes{newFinish(level), newFinish(sloping), newFinish(anySlope)}
	for i := range planes {
		p := &planes[i]
		f.all.add(p)
		switch {
		case level.holds(p):
			f.level.add(p)
		case sloping.holds(p):
			f.sloping.add(p)
		}
	}
	return f
}

// surface returns the noise about the smoothest considerable group of patches:
// of level ones or of sloping ones, whichever are smoother, since lawns may be
// all that is level in a place.
func (f *finishes) surface(d Density) Surface {
	best := Surface{Within: math.Inf(1)}
	for _, c := range []*finish{&f.level, &f.sloping, &f.all} {
		s := c.surface()
		if s.Patches >= leastClass && s.Within < best.Within || c == &f.all && best.Patches == 0 {
			best = s
			best.class = c.class
		}
	}
	if best.Patches == 0 {
		best = Surface{Within: assumedSigmaZ, Together: assumedSigmaZ, Assumed: true}
	}
	best.Size = patchSize(d.Median)
	return best
}

func (f *finish) surface() (s Surface) {
	s.Within, s.Patches = f.within.lowestPeak(smoothShare)
	s.Together, _ = f.together.lowestPeak(smoothShare)
	return s
}

// horizontalNoise returns the noise per axis within a swath, from walls or
// from sloping surfaces, whichever is less: relief of façades and of tiles
// adds to either. On a plane of slope β the noise along the normal is
//
//	σn² = σz²·cos²β + σ²·sin²β
func (f *finishes) horizontalNoise(u uprights, s Surface) Estimate {
	e := Estimate{Value: math.Inf(1)}
	if value, n := u.walls.lowestPeak(smoothShare); n >= enoughOnSeams && float64(n) >= clearly*float64(u.walls.total()-u.walls.last()) {
		e = Estimate{value, "scatter of points about walls", n}
	}
	if slope := f.sloping.surface(); slope.Patches >= leastClass && !s.Assumed {
		sinSq := f.sloping.slopes.quantile(0.5)
		value := math.Sqrt(max(slope.Within*slope.Within-s.Within*s.Within*(1-sinSq), 0) / sinSq)
		if value < e.Value {
			e = Estimate{value, "noise about sloping against level surfaces", slope.Patches}
		}
	}
	if math.IsInf(e.Value, 1) {
		return Estimate{Value: s.Within, From: "neither walls nor slopes seen: taken as large as the noise about smooth surfaces"}
	}
	return e
}

// clearly is the share of all wall points whose walls must scatter alike:
// hedges pass for walls, too, but each has a thickness of its own.
const clearly = 0.4

// withShifts adds to the noise within swaths what they are shifted against
// one another: for two swaths of equal weight, half of the shift.
func (e Estimate) withShifts(pairs []Pair) Estimate {
	var sum, n float64
	for _, p := range pairs {
		if p.Horizontal && p.Shifted {
			sum += (p.DE*p.DE + p.DN*p.DN) / 2 * float64(p.Patches)
		}
		n += float64(p.Patches)
	}
	if sum > 0 {
		e.Value = math.Sqrt(e.Value*e.Value + sum/n/4)
		e.From += "; with the shifts between swaths"
	}
	return e
}

// Half of a laser's divergence in radians, where the points do not tell: about
// the middle of what sensors for drones have, and of those for aircraft, which
// measure from further than farRange metres. Common practice, no source.
const (
	halfDivergenceNear = 0.5e-3
	halfDivergenceFar  = 0.15e-3
	farRange           = 200
)

// widestDivergence is half of the largest divergence that laser scanners have,
// in radians, and widestBeam the half-width it is bounded by where the range is
// not known, in metres. Pulses split by more were split by foliage, wires or
// cloth. Common practice, no source.
const (
	widestDivergence = 2e-3
	widestBeam       = 0.4
)

// beamWidth returns half of the width in which pulses are split by roof edges,
// or a default where that can't be told or can't be a beam.
func beamWidth(u uprights, sigma, reach float64) Estimate {
	widest := widestBeam
	if reach > 0 {
		widest = widestDivergence * reach
	}
	if scatter, n := u.edges.lowestPeak(edgePeak); n >= enoughOnSeams {
		if half := math.Sqrt(3 * max(scatter*scatter-sigma*sigma, 0)); half <= widest {
			return Estimate{half, "scatter of split pulses about roof edges", n}
		}
	}
	switch {
	case reach > farRange:
		return Estimate{Value: halfDivergenceFar * reach, From: "no edges with split pulses seen: taken as 0.15 mrad of the range"}
	case reach > 0:
		return Estimate{Value: halfDivergenceNear * reach, From: "no edges with split pulses seen: taken as 0.5 mrad of the range"}
	}
	return Estimate{Value: sigma, From: "neither split pulses nor range known: taken as large as the horizontal noise"}
}

// usualRange returns the range of the leg with most points whose sensor
// position is known; 0 where none is.
func (v *voyage) usualRange() float64 {
	var reach float64
	most := 0
	for i := range v.fleet.legs {
		g := &v.fleet.legs[i]
		var s Swath
		if known := v.trajectory.follow(v.fleet.lines[g.line].source, g, &s); known > most {
			most, reach = known, s.Range
		}
	}
	return reach
}

package swath

import (
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
	r.Swaths, r.Located, r.Turning = v.describe()
	planes := patches(b, v.fleet, r.Density, workers)
	r.Surface = smoothness(planes, r.Density)
	r.Sigma = Estimate{Value: r.Surface.Together, From: "taken as large as the noise about smooth surfaces"}
	r.Beam = Estimate{Value: v.defaultBeam(r.Swaths), From: "taken as 0.25 mrad of the range"}
	return Result{
		Measures: cloud.Measures{
			Density: r.Density.Median, Spacing: r.Spacing, SigmaZ: r.Surface.Together,
			Sigma: r.Sigma.Value, Beam: r.Beam.Value,
		},
		Trajectory: v.trajectory,
		Report:     r,
	}
}

// smoothness returns the noise about the smoothest considerable group of
// patches.
func smoothness(planes []patch, d Density) Surface {
	const finest, coarsest = 1e-4, 0.5
	within, together := newHistogram(finest, coarsest), newHistogram(finest, coarsest)
	for i := range planes {
		within.add(planes[i].within)
		together.add(planes[i].together)
	}
	s := Surface{Size: patchSize(d.Median)}
	s.Within, s.Patches = within.lowestPeak()
	s.Together, _ = together.lowestPeak()
	if s.Patches == 0 {
		return Surface{Within: assumedSigmaZ, Together: assumedSigmaZ, Size: s.Size, Assumed: true}
	}
	return s
}

// halfDivergence is half of a laser's divergence in radians, where the points
// do not tell: 0.5 mrad full angle, within what sensors for drones and
// aircraft have. Common practice, no source.
const halfDivergence = 0.25e-3

// defaultBeam is the half-width of the beam for the range of most points.
func (v *voyage) defaultBeam(swaths []Swath) float64 {
	var best Swath
	for _, s := range swaths {
		if s.Points > best.Points {
			best = s
		}
	}
	return best.Range * halfDivergence
}

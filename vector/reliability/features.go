// Package reliability turns what is stated of a footprint into the probability
// that it is right: that its IoU with the true outline is 0.9 or more and that
// every corner stated as adjusted lies within the greater of three standard
// errors and two point spacings of a true one.
//
// The probability is that of a logistic regression on attributes which every
// delivery holds, so that it can be worked out again from the layers. Its
// coefficients come from simulated blocks; docs/footprints.md has the table and
// says how to make it anew.
package reliability

import (
	"math"
	"slices"

	"github.com/paulmach/orb/planar"

	"quoin/vector"
)

// A Feature is one quantity that the probability follows from.
type Feature struct {
	Name, Meaning string
	// Prior is what its coefficient is expected to be before any data, with a
	// standard deviation of PriorSigma.
	Prior, PriorSigma float64
	of                func(f *vector.Footprint, spacing float64) float64
}

// reasonPrior is the prior coefficient of a reason for a look: it takes the odds
// down to a third. Where data are few, the judgement stays: it takes a score of
// footprints to outweigh it.
const (
	reasonPrior      = -1
	reasonPriorSigma = 0.5
)

// priorSigma is that of the other features.
const priorSigma = 1.5

// Features returns the features, in the order of coefficients; the constant is
// the first. All are without a unit, and bounded.
func Features() []Feature {
	list := []Feature{
		{"constant", "", 2, priorSigma, func(*vector.Footprint, float64) float64 { return 1 }},
		{"size", "log of the area in squared spacings, over 6, less 1", 0, priorSigma, func(f *vector.Footprint, s float64) float64 {
			return within(math.Log(area(f)/(s*s))/6-1, -0.5, 0.8)
		}},
		{"edge share", "perimeter times spacing over area", 0, priorSigma, func(f *vector.Footprint, s float64) float64 {
			return within(perimeter(f)*s/area(f), 0, 1)
		}},
		{"corner error", "log of the largest corner standard error in spacings, plus 2", 0, priorSigma, func(f *vector.Footprint, s float64) float64 {
			return within(math.Log(f.CornerSigmaMax()/s)+2, -2, 3)
		}},
		{"edge rms", "edge RMS in spacings", 0, priorSigma, func(f *vector.Footprint, s float64) float64 { return within(f.EdgeRMS/s, 0, 1) }},
		{"thin roof", "log of the roof points expected of the area over those there", 0, priorSigma, func(f *vector.Footprint, s float64) float64 {
			return within(math.Log(area(f)/(s*s)/float64(max(f.PointCount, 1))), -1, 1.5)
		}},
		{"area error", "log of the area's standard error over the area, plus 4.5", 0, priorSigma, func(f *vector.Footprint, _ float64) float64 {
			return within(math.Log(f.AreaSigma/area(f))+4.5, -2, 3)
		}},
		{"extended", "share of corners that are extended", 0, priorSigma, func(f *vector.Footprint, _ float64) float64 { return extended(f) }},
		{"many corners", "log of the number of corners over 4", 0, priorSigma, func(f *vector.Footprint, _ float64) float64 {
			return within(math.Log(float64(max(len(f.Corners), 4))/4), 0, 2)
		}},
		{"short side", "2 less the log of the shortest side in spacings", 0, priorSigma, func(f *vector.Footprint, s float64) float64 {
			return within(2-math.Log(shortest(f)/s), -2, 3)
		}},
		{"skew corner", "greatest angle of a corner from a right one, over 45 degrees", 0, priorSigma, func(f *vector.Footprint, _ float64) float64 { return skew(f) }},
		{"no roof type", "no part of the roof is known", -0.5, priorSigma, func(f *vector.Footprint, _ float64) float64 {
			return flag(f.Roof.Type == vector.RoofUnknown)
		}},
	}
	for _, r := range reasons() {
		list = append(list, Feature{string(r), "this reason for a look is given", reasonPrior, reasonPriorSigma, func(f *vector.Footprint, _ float64) float64 {
			return flag(slices.Contains(f.Review, r))
		}})
	}
	return list
}

// reasons are those for a look, in the order of their features.
func reasons() []vector.Reason {
	return []vector.Reason{
		vector.ReviewAdjoining, vector.ReviewAtBlockEdge, vector.ReviewIrregular, vector.ReviewSeveral, vector.ReviewOccluded,
		vector.ReviewOpenRoof, vector.ReviewSparse, vector.ReviewTentLike, vector.ReviewVegetation, vector.ReviewVehicleLike,
	}
}

// Values returns the features of a footprint; spacing is that of the cloud, in
// the horizontal unit of the footprint. What is unknown counts as its worst
// value.
func Values(f vector.Footprint, spacing float64) []float64 {
	list := Features()
	values := make([]float64, len(list))
	for i, feature := range list {
		values[i] = feature.of(&f, spacing)
	}
	return values
}

func area(f *vector.Footprint) float64 { return planar.Area(f.Polygon) }

func perimeter(f *vector.Footprint) float64 {
	sum := 0.0
	for _, ring := range f.Polygon {
		sum += planar.Length(ring)
	}
	return sum
}

func extended(f *vector.Footprint) float64 {
	n := 0
	for _, c := range f.Corners {
		if c.Kind == vector.Extended {
			n++
		}
	}
	return float64(n) / float64(max(len(f.Corners), 1))
}

func shortest(f *vector.Footprint) float64 {
	least := math.Inf(1)
	for _, ring := range f.Polygon {
		for i := 1; i < len(ring); i++ {
			least = min(least, planar.Distance(ring[i-1], ring[i]))
		}
	}
	return least
}

func skew(f *vector.Footprint) float64 {
	most := 0.0
	for _, c := range f.Corners {
		off := math.Abs(math.Mod(c.AngleDeg, 90))
		most = max(most, min(off, 90-off))
	}
	return within(most/45, 0, 1)
}

func flag(is bool) float64 {
	if is {
		return 1
	}
	return 0
}

// within bounds a value; what is no number counts as the upper bound.
func within(v, lo, hi float64) float64 {
	if math.IsNaN(v) {
		return hi
	}
	return min(max(v, lo), hi)
}

package control

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"quoin/vector"
)

// BlunderReason begins the reason of a matched point of which something is not
// used, because its difference is out of line with the others;
// ElevationBlunder, that of one of which only the elevation is not.
const (
	BlunderReason    = "blunder"
	ElevationBlunder = BlunderReason + " in elevation"
)

const (
	// leastForBlunders is the number of matched points from which on blunders
	// are looked for. Below it, the others do not say enough about how far a
	// difference may lie.
	leastForBlunders = 5
	// lineLimit is the modified z-score, 0.6745·|d − median|/MAD, above which a
	// value is called an outlier (Iglewicz & Hoaglin 1993, How to Detect and
	// Handle Outliers, ASQC Basic References 16, from memory).
	lineLimit = 3.5
	// planeLimit is the same in the plane: the radius, in standard errors of
	// one axis, beyond which a normal error falls as seldom as one beyond 3.5
	// on a line, √(−2 ln P) with P = erfc(3.5/√2).
	planeLimit = 3.917
	// falseAlarm is the chance that any point of a survey without blunders is
	// flagged in one component, however many points there are. For about a
	// hundred points the test comes to three times the horizontal RMSE of the
	// others, the common bound for a discrepancy to be looked at; for fewer it
	// allows for how badly so few determine that RMSE.
	falseAlarm = 0.01
	// lineMedian and planeMedian are the medians of |d| for a normal error of
	// standard error 1 on a line, and of the radius in the plane, √(2 ln 2).
	lineMedian  = 0.67449
	planeMedian = 1.17741
	// rounding is the least standard error assumed: survey coordinates are
	// given to a thousandth of a unit.
	rounding = 0.001
)

// FlagBlundersInPlace looks among the used checks for differences that are out
// of line with the others, in plan and in elevation, and sets Used and Reason
// of those. It does nothing with fewer than five used checks.
//
// A difference is a blunder when it deviates from the median difference by more
// than the limit for a normal error whose standard error is estimated from the
// median deviation, and when its deviation from the mean of those within that
// limit is significant (F test at 1 % for all points together). The first keeps
// blunders from hiding each other, the second keeps a median that happens to be
// small from raising false alarms. Both are about the middle of the
// differences, so that a shift of the whole block does not count.
//
// A point with a blunder in plan is not used at all, as it may sit at the wrong
// corner. One with a blunder in elevation alone, as a wrong pole height gives,
// stays in use, but for its elevation: its reason begins with ElevationBlunder.
func FlagBlundersInPlace(checks []vector.CornerCheck) {
	var plan, up []int
	for i, c := range checks {
		if !c.Used {
			continue
		}
		if !math.IsNaN(c.DeltaE + c.DeltaN) {
			plan = append(plan, i)
		}
		if !math.IsNaN(c.DeltaU) {
			up = append(up, i)
		}
	}
	vertical := func(i int) [2]float64 { return [2]float64{checks[i].DeltaU} }
	for _, o := range (component{1, lineLimit / lineMedian, vertical}).outliers(up) {
		checks[o.index].Reason = ElevationBlunder + ": " + o.String()
	}
	planar := func(i int) [2]float64 { return [2]float64{checks[i].DeltaE, checks[i].DeltaN} }
	for _, o := range (component{2, planeLimit / planeMedian, planar}).outliers(plan) {
		c := &checks[o.index]
		reason := BlunderReason + " in plan: " + o.String()
		if c.Reason != "" {
			reason += "; " + c.Reason
		}
		c.Used, c.Reason = false, reason
	}
}

// outlier is a difference out of line: its distance from the mean of the
// others, and their root mean square about it.
type outlier struct {
	index            int
	distance, spread float64
}

// String says how far out of line the difference is.
func (o outlier) String() string {
	return fmt.Sprintf("%.3f from the others, %.1f times their spread", o.distance, o.distance/o.spread)
}

// component is the part of the differences that is looked at: in plan, with
// two dimensions, or in elevation, with one.
type component struct {
	dimensions int
	// limit is the bound in median deviations.
	limit      float64
	difference func(index int) [2]float64
}

// outliers returns the indices whose difference lies further than the limit
// from the median and significantly far from the mean of the rest.
//
// Those beyond the limit are tested from the nearest outwards, and each that
// passes joins the rest before the next is tested, as a rest from which too
// much was taken looks narrower than it is. With the first that fails, all
// further ones do.
func (c component) outliers(indices []int) []outlier {
	if len(indices) < leastForBlunders {
		return nil
	}
	axis := func(k int) float64 {
		return median(indices, func(i int) float64 { return c.difference(i)[k] })
	}
	middle := [2]float64{axis(0), axis(1)}
	deviation := func(i int) float64 { return apart(c.difference(i), middle) }
	bound := c.limit * max(median(indices, deviation), rounding)
	outward := slices.Clone(indices)
	slices.SortStableFunc(outward, func(a, b int) int { return cmp.Compare(deviation(a), deviation(b)) })
	inner := 0
	for inner < len(outward) && deviation(outward[inner]) <= bound {
		inner++
	}
	level := falseAlarm / float64(len(indices))
	for ; inner < len(outward); inner++ {
		rest := c.spread(outward[:inner])
		if rest.chance(c.difference(outward[inner])) < level {
			var out []outlier
			for _, i := range outward[inner:] {
				out = append(out, outlier{i, apart(c.difference(i), rest.mean), math.Sqrt(rest.variance * float64(c.dimensions))})
			}
			return out
		}
	}
	return nil
}

// spread describes differences taken to be free of blunders: their number, mean
// and variance along one axis.
type spread struct {
	dimensions, n float64
	mean          [2]float64
	variance      float64
}

func (c component) spread(indices []int) spread {
	s := spread{dimensions: float64(c.dimensions), n: float64(len(indices))}
	for _, i := range indices {
		d := c.difference(i)
		s.mean[0] += d[0] / s.n
		s.mean[1] += d[1] / s.n
	}
	var sumSq float64
	for _, i := range indices {
		d := apart(c.difference(i), s.mean)
		sumSq += d * d
	}
	s.variance = max(sumSq/(s.dimensions*(s.n-1)), rounding*rounding)
	return s
}

// chance returns the probability that one more difference of the same normal
// distribution lies as far out as d: the square of the deviation from the mean
// through p·(1 + 1/n) times the variance is distributed as F(p, p(n − 1)) for p
// dimensions.
func (s spread) chance(d [2]float64) float64 {
	r := apart(d, s.mean)
	f := distuv.F{D1: s.dimensions, D2: s.dimensions * (s.n - 1)}
	return f.Survival(r * r / (s.dimensions * s.variance * (1 + 1/s.n)))
}

func apart(a, b [2]float64) float64 { return math.Hypot(a[0]-b[0], a[1]-b[1]) }

func median(indices []int, value func(int) float64) float64 {
	v := make([]float64, len(indices))
	for k, i := range indices {
		v[k] = value(i)
	}
	slices.Sort(v)
	n := len(v)
	return (v[(n-1)/2] + v[n/2]) / 2
}

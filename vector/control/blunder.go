package control

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"quoin/vector"
)

// BlunderReason begins the reason of a matched point that is not used because
// its difference is out of line with the others.
const BlunderReason = "blunder"

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
	// spreadLimit is the multiple of the others' root mean square that a
	// blunder exceeds as well: three times RMSE, the common bound for a
	// discrepancy to be looked at.
	spreadLimit = 3
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
// median deviation, and from the mean of those that are within the limit by
// more than three times their root mean square. The first keeps blunders from
// hiding each other, the second keeps a median that happens to be small from
// raising false alarms. Both are about the middle of the differences, so that
// a shift of the whole block does not count. A point with a blunder in one
// component is not used in any.
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
	reasons := make(map[int][]string)
	planar := func(i int) [2]float64 { return [2]float64{checks[i].DeltaE, checks[i].DeltaN} }
	for _, o := range outliers(plan, planar, planeLimit/planeMedian) {
		reasons[o.index] = append(reasons[o.index], fmt.Sprintf("%.3f in plan from the others, %.1f times their spread", o.distance, o.distance/o.spread))
	}
	vertical := func(i int) [2]float64 { return [2]float64{checks[i].DeltaU} }
	for _, o := range outliers(up, vertical, lineLimit/lineMedian) {
		reasons[o.index] = append(reasons[o.index], fmt.Sprintf("%.3f in elevation from the others, %.1f times their spread", o.distance, o.distance/o.spread))
	}
	for i := range checks {
		if r := reasons[i]; r != nil {
			checks[i].Used = false
			checks[i].Reason = BlunderReason + ": " + strings.Join(r, "; ")
		}
	}
}

// outlier is a difference out of line: its distance from the mean of the
// others, and their root mean square about it.
type outlier struct {
	index            int
	distance, spread float64
}

// outliers returns the indices whose difference lies further than limit times
// the median deviation from the median, and than spreadLimit times the spread
// of the rest from their mean.
func outliers(indices []int, difference func(int) [2]float64, limit float64) []outlier {
	if len(indices) < leastForBlunders {
		return nil
	}
	axis := func(k int) float64 {
		return median(indices, func(i int) float64 { return difference(i)[k] })
	}
	middle := [2]float64{axis(0), axis(1)}
	deviation := func(i int) float64 { return apart(difference(i), middle) }
	bound := limit * max(median(indices, deviation), rounding)
	var rest, beyond []int
	for _, i := range indices {
		if deviation(i) > bound {
			beyond = append(beyond, i)
		} else {
			rest = append(rest, i)
		}
	}
	var mean [2]float64
	for _, i := range rest {
		d := difference(i)
		mean[0] += d[0] / float64(len(rest))
		mean[1] += d[1] / float64(len(rest))
	}
	var sumSq float64
	for _, i := range rest {
		d := apart(difference(i), mean)
		sumSq += d * d
	}
	spread := max(math.Sqrt(sumSq/float64(len(rest))), rounding)
	var out []outlier
	for _, i := range beyond {
		if d := apart(difference(i), mean); d > spreadLimit*spread {
			out = append(out, outlier{i, d, spread})
		}
	}
	return out
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

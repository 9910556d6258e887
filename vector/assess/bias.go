package assess

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"quoin/vector"
	"quoin/vector/control"
)

// largeBias is the share of the target RMSE from which on a mean calls for an
// explanation (ASPRS Edition 2, from memory); without a target, of the RMSE.
const largeBias = 0.25

// significant is the level of the tests of bias and trend.
const significant = 0.05

// A Bias compares the mean of one component with its RMSE.
type Bias struct {
	Axis string        `json:"axis"`
	Mean control.Value `json:"mean"`
	// Share is the size of the mean through the target RMSE, or through the
	// RMSE where there is no target.
	Share control.Value `json:"share"`
	// P is the chance of a mean as large without a bias (t test); NaN for
	// fewer than two points.
	P control.Value `json:"p"`
	// Large tells whether the share is above a quarter, Significant whether P
	// is below 5 %.
	Large       bool `json:"large"`
	Significant bool `json:"significant"`
}

// biases tests the components; those without differences are left out. target
// is in the units of the differences, 0 for none, and counts in plan only.
func biases(s control.Statistics, target float64) []Bias {
	list := []Bias{}
	for _, c := range []struct {
		name   string
		axis   control.Axis
		target float64
	}{{"east", s.East, target}, {"north", s.North, target}, {"up", s.Up, 0}} {
		if c.axis.N == 0 {
			continue
		}
		against := float64(c.axis.RMSE)
		if c.target > 0 {
			against = c.target
		}
		b := Bias{Axis: c.name, Mean: c.axis.Mean, Share: control.Value(math.Abs(float64(c.axis.Mean)) / against), P: control.Value(math.NaN())}
		if c.axis.N > 1 && c.axis.SD > 0 {
			n := float64(c.axis.N)
			t := math.Abs(float64(c.axis.Mean)) / float64(c.axis.SD) * math.Sqrt(n)
			b.P = control.Value(2 * distuv.StudentsT{Sigma: 1, Nu: n - 1}.Survival(t))
		}
		b.Large, b.Significant = b.Share > largeBias, b.P < significant
		list = append(list, b)
	}
	return list
}

// candidateFactor is the multiple of the target RMSE beyond which a difference
// is a blunder candidate (ASPRS Edition 2, from memory). It is the target's and
// not the computed RMSE's: of n differences none is beyond √n times their RMSE,
// so that with nine points or fewer three times it is never passed.
const candidateFactor = 3

// candidates lists the differences beyond three times the target, used or not.
func candidates(checks []vector.CornerCheck, target float64) []control.Finding {
	list := []control.Finding{}
	for _, k := range checks {
		if d := math.Hypot(k.DeltaE, k.DeltaN); target > 0 && k.Tests() && d > candidateFactor*target {
			list = append(list, control.Finding{
				ControlID: k.ControlID,
				Reason:    fmt.Sprintf("%.3f apart, %.1f times the target RMSE", d, d/target),
			})
		}
	}
	return list
}

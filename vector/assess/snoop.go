package assess

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"quoin/vector/control"
)

// The tests for single blunders.
const (
	// WTest compares each difference with its standard error, stated before
	// (Baarda 1968, A testing procedure for use in geodetic networks).
	WTest = "w-test"
	// TauTest takes the standard error from the differences themselves (Pope
	// 1976, NOAA Technical Report NOS 65 NGS 1).
	TauTest = "tau-test"
	NoTest  = ""
)

const (
	// snoopLevel is the chance that one component without a blunder fails the
	// w-test, and power that one with a blunder of the detectable size does:
	// the usual pair, with critical value 3.29 and noncentrality 4.13.
	snoopLevel = 0.001
	power      = 0.80
	// tauLevel is the chance that any of all components of one axis fails the
	// tau-test without a blunder.
	tauLevel = 0.05
)

// A Snooping is the outcome of testing each component of each difference for a
// blunder, after one shift of the whole block.
type Snooping struct {
	Test     string        `json:"test"`
	Critical control.Value `json:"critical"`
	// Detectable is the largest of the blunders that are found with a power of
	// 80 %; NaN for the tau-test.
	Detectable control.Value `json:"detectable_blunder"`
	// Failed are the components that failed.
	Failed []Failed `json:"failed"`
}

// A Failed component is that of a difference, "east" or "north".
type Failed struct {
	ControlID string        `json:"control_id"`
	Axis      string        `json:"axis"`
	Value     control.Value `json:"value"`
}

// axes names the two axes.
var axes = [...]string{"east", "north"}

func snoop(list []residual) Snooping {
	nan := control.Value(math.NaN())
	switch {
	case len(list) >= 3 && allKnown(list):
		return wTest(list)
	case len(list) >= 4:
		return tauTest(list)
	}
	return Snooping{Test: NoTest, Critical: nan, Detectable: nan, Failed: []Failed{}}
}

// wTest divides each difference from the weighted mean by its standard error.
func wTest(list []residual) Snooping {
	normal := distuv.Normal{Sigma: 1}
	critical := normal.Quantile(1 - snoopLevel/2)
	noncentrality := critical + normal.Quantile(power)
	s := Snooping{Test: WTest, Critical: control.Value(critical), Failed: []Failed{}}
	for axis := range axes {
		var weight, sum float64
		for _, r := range list {
			weight += 1 / r.variance(axis)
			sum += r.d[axis] / r.variance(axis)
		}
		mean := sum / weight
		for _, r := range list {
			v := r.variance(axis)
			sigma := math.Sqrt(v - 1/weight)
			if w := (r.d[axis] - mean) / sigma; math.Abs(w) > critical {
				s.Failed = append(s.Failed, Failed{r.id, axes[axis], control.Value(w)})
			}
			// A blunder b moves the difference from the mean by b·sigma²/v.
			s.Detectable = max(s.Detectable, control.Value(noncentrality*v/sigma))
		}
	}
	return s
}

// tauTest divides each difference from the mean by its standard error as the
// differences give it.
func tauTest(list []residual) Snooping {
	n := float64(len(list))
	s := Snooping{Test: TauTest, Critical: control.Value(tauCritical(len(list))), Detectable: control.Value(math.NaN()), Failed: []Failed{}}
	for axis := range axes {
		var mean, sum float64
		for _, r := range list {
			mean += r.d[axis] / n
		}
		for _, r := range list {
			sum += (r.d[axis] - mean) * (r.d[axis] - mean)
		}
		sigma := math.Sqrt(sum / (n - 1) * (n - 1) / n)
		for _, r := range list {
			if tau := (r.d[axis] - mean) / sigma; sigma > 0 && math.Abs(tau) > float64(s.Critical) {
				s.Failed = append(s.Failed, Failed{r.id, axes[axis], control.Value(tau)})
			}
		}
	}
	return s
}

// tauCritical returns the critical value of tau for n differences from their
// mean, from that of Student's t: τ = √ν · t / √(ν − 1 + t²), ν = n − 1 (Pope
// 1976), the level shared out among the n by Bonferroni.
func tauCritical(n int) float64 {
	nu := float64(n - 1)
	t := distuv.StudentsT{Sigma: 1, Nu: nu - 1}.Quantile(1 - tauLevel/2/float64(n))
	return math.Sqrt(nu) * t / math.Sqrt(nu-1+t*t)
}

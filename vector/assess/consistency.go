package assess

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"quoin/vector/control"
)

// A Verdict says whether stated uncertainties hold.
type Verdict string

// The verdicts.
const (
	Consistent Verdict = "consistent with the differences"
	TooSmall   Verdict = "too small"
	TooLarge   Verdict = "too large"
	Undecided  Verdict = "not tested" // no standard errors, or too few points
)

// verdictLevel is the chance of a wrong verdict where the uncertainties hold.
const verdictLevel = 0.05

// leastDoF is the number of degrees of freedom below which no verdict is
// given: with fewer, uncertainties that are half or twice what they should be
// pass more often than not.
const leastDoF = 6

// A Consistency is the test of the stated uncertainties of corners: the square
// of the differences, after one shift of the whole block, through their stated
// covariance, is distributed as chi-square.
type Consistency struct {
	Verdict Verdict `json:"verdict"`
	// Statistic is the sum of squared normalised differences, with DoF degrees
	// of freedom: two for each point less two for the shift.
	Statistic control.Value `json:"statistic"`
	DoF       int           `json:"degrees_of_freedom"`
	// Lower and Upper bound Statistic for uncertainties that hold.
	Lower control.Value `json:"lower"`
	Upper control.Value `json:"upper"`
	// Factor is what the uncertainties had to be multiplied with.
	Factor control.Value `json:"factor"`
	// SurveyError tells whether the survey's standard errors went in.
	SurveyError bool `json:"survey_error_known"`
}

// matrix is a symmetric 2 × 2 matrix: EE, NN, EN.
type matrix [3]float64

func (m matrix) inverse() matrix {
	det := m[0]*m[1] - m[2]*m[2]
	return matrix{m[1] / det, m[0] / det, -m[2] / det}
}

func (m matrix) times(v [2]float64) [2]float64 {
	return [2]float64{m[0]*v[0] + m[2]*v[1], m[2]*v[0] + m[1]*v[1]}
}

func (m matrix) add(o matrix) matrix { return matrix{m[0] + o[0], m[1] + o[1], m[2] + o[2]} }

func (m matrix) form(v [2]float64) float64 {
	w := m.times(v)
	return v[0]*w[0] + v[1]*w[1]
}

// total is the covariance that a difference is expected to have.
func (r residual) total() matrix {
	return matrix{r.variance(0), r.variance(1), r.local[2] + r.survey[2]}
}

// consistency tests the covariances with two-sided chi-square; the shift of the
// block is estimated from the same points and charged for.
func consistency(list []residual) Consistency {
	nan := control.Value(math.NaN())
	c := Consistency{Verdict: Undecided, Statistic: nan, Lower: nan, Upper: nan, Factor: nan, DoF: max(2*len(list)-2, 0), SurveyError: true}
	for _, r := range list {
		c.SurveyError = c.SurveyError && r.surveyed
	}
	if !allKnown(list) || c.DoF < leastDoF {
		return c
	}
	var weight matrix
	var sum [2]float64
	for _, r := range list {
		w := r.total().inverse()
		weight = weight.add(w)
		d := w.times(r.d)
		sum[0], sum[1] = sum[0]+d[0], sum[1]+d[1]
	}
	shift := weight.inverse().times(sum)
	var statistic float64
	for _, r := range list {
		statistic += r.total().inverse().form([2]float64{r.d[0] - shift[0], r.d[1] - shift[1]})
	}
	chi := distuv.ChiSquared{K: float64(c.DoF)}
	c.Statistic = control.Value(statistic)
	c.Lower, c.Upper = control.Value(chi.Quantile(verdictLevel/2)), control.Value(chi.Quantile(1-verdictLevel/2))
	c.Factor = control.Value(math.Sqrt(statistic / float64(c.DoF)))
	switch {
	case c.Statistic > c.Upper:
		c.Verdict = TooSmall
	case c.Statistic < c.Lower:
		c.Verdict = TooLarge
	default:
		c.Verdict = Consistent
	}
	return c
}

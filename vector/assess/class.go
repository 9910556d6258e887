package assess

import (
	"fmt"
	"math"
	"strings"

	"quoin/vector"
	"quoin/vector/control"
)

// A Class is the horizontal accuracy by the ASPRS Positional Accuracy
// Standards, Edition 2 (2023). All rules of that standard are from memory here
// and have not been compared with the document.
type Class struct {
	// Fit is RMSE_H1, that of the differences; Survey is RMSE_H2, that of the
	// surveyed points, and Product √(Fit² + Survey²): both NaN where a point
	// has no standard error. AllProduct is that with no point left out.
	Fit        control.Value `json:"rmse_h1"`
	Survey     control.Value `json:"rmse_h2"`
	Product    control.Value `json:"rmse_h"`
	AllProduct control.Value `json:"rmse_h_all_matched"`
	// Reached is the least class, in whole centimetres, that AllProduct meets;
	// 0 where it is unknown.
	Reached int `json:"reached_class_cm"`
	// Target is the class asked for, in centimetres; 0 for none.
	Target float64 `json:"target_class_cm"`
	// Points are the points used, Least those asked for on so large an area.
	Points int `json:"points"`
	Least  int `json:"least_points"`
	// Met tells whether the target class is met with no point left out.
	Met bool `json:"met"`
	// Short has the reasons why this is no full test by the standard.
	Short []string `json:"short_of_a_test"`
}

// leastPoints returns the number of check points that Edition 2 asks for on an
// area in square kilometres: 30, ten more for each thousand begun beyond the
// first, 120 at most.
func leastPoints(area float64) int {
	const first, more, step, most = 30, 10, 1000, 120
	if !(area > step) {
		return first
	}
	return int(min(first+more*(math.Ceil(area/step)-1), most))
}

// surveyShare is how the standard error of the survey must compare with the
// class: half of it at most (Edition 2; it was a third in 2014).
const surveyShare = 0.5

// classify works out the class. all are the matched checks, kept the used.
func classify(r control.Result, checks []vector.CornerCheck, o Options) Class {
	unit := unitOf(o.CRS.Horizontal)
	c := Class{
		Fit: r.Kept.RMSEH, Survey: control.Value(surveyRMSE(checks)), Target: 100 * o.TargetClass,
		Points: r.Used, Least: leastPoints(o.areaKm2()), Short: []string{},
	}
	c.Product = control.Value(math.Hypot(float64(c.Fit), float64(c.Survey)))
	c.AllProduct = control.Value(math.Hypot(float64(r.All.RMSEH), float64(c.Survey)))
	if all := float64(c.AllProduct); !math.IsNaN(all) {
		c.Reached = int(math.Ceil(100*all*unit - 1e-9))
		c.Met = o.TargetClass > 0 && all*unit <= o.TargetClass
	}
	short := func(format string, args ...any) { c.Short = append(c.Short, fmt.Sprintf(format, args...)) }
	if c.Points < c.Least {
		short("%d check points are used, below the minimum of %d", c.Points, c.Least)
	}
	switch {
	case math.IsNaN(float64(c.Survey)):
		short("the standard error of the surveyed points is not given, and the product figure holds it")
	case o.TargetClass > 0 && float64(c.Survey)*unit > surveyShare*o.TargetClass:
		short("the survey's RMSE of %.1f cm is more than half of the class", 100*float64(c.Survey)*unit)
	}
	if n := planBlunders(r.Blunders); n > 0 {
		short("%d of the matched points are taken for blunders", n)
	}
	if n := len(r.Unmatched); n > 0 {
		short("%d of the check points were not matched to a corner", n)
	}
	if o.TargetClass == 0 {
		short("no class was asked for before the test")
	}
	return c
}

// planBlunders counts the blunders that are not in elevation alone.
func planBlunders(list []control.Finding) int {
	n := 0
	for _, f := range list {
		if !strings.HasPrefix(f.Reason, control.ElevationBlunder) {
			n++
		}
	}
	return n
}

// surveyRMSE returns the root mean square horizontal standard error of the used
// points; NaN where one has none.
func surveyRMSE(checks []vector.CornerCheck) float64 {
	var sum, n float64
	for _, k := range checks {
		if !k.Used {
			continue
		}
		if !(k.SurveySigma[0] > 0 && k.SurveySigma[1] > 0) {
			return math.NaN()
		}
		sum += k.SurveySigma[0]*k.SurveySigma[0] + k.SurveySigma[1]*k.SurveySigma[1]
		n++
	}
	return math.Sqrt(sum / n)
}

func unitOf(u vector.Unit) float64 {
	if u.Known() {
		return u.Metres
	}
	return 1
}

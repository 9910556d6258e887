package assess

import (
	"math"

	"github.com/paulmach/orb"

	"quoin/vector"
	"quoin/vector/control"
)

// A Surface gives the elevation of the ground at a position in the CRS, and
// false where none was seen.
type Surface func(orb.Point) (float64, bool)

// A Vertical is the test of the cloud's ground against surveyed points, by the
// kind of ground. Differences are of the surface minus surveyed.
type Vertical struct {
	// Open is non-vegetated ground, Vegetated the other; the latter is as
	// found and has no limit in the standards of today.
	Open      control.Axis `json:"non_vegetated"`
	Vegetated control.Axis `json:"vegetated"`
	// Survey is RMSE_V2 of the open points and Product the RMSE with it; NaN
	// where a point has no standard error.
	Survey  control.Value `json:"rmse_v2"`
	Product control.Value `json:"rmse_v"`
}

// CheckGround compares the points on the ground with a surface, and sets
// DeltaU and Reason of their checks in place. Without a surface nothing is
// done.
func CheckGround(checks []vector.CornerCheck, surface Surface) {
	if surface == nil {
		return
	}
	for i := range checks {
		k := &checks[i]
		if !control.Feature(k.Feature).OnGround() || math.IsNaN(k.SurveyedU) {
			continue
		}
		z, ok := surface(k.Surveyed)
		if !ok {
			k.Reason = "a point on the " + k.Feature + ", where no ground was seen"
			continue
		}
		k.DeltaU = z - k.SurveyedU
	}
}

// vertical sums up the points on the ground; nil when there is none.
func vertical(checks []vector.CornerCheck) *Vertical {
	var open, vegetated []float64
	var sum float64
	for _, k := range checks {
		if !control.Feature(k.Feature).OnGround() || math.IsNaN(k.DeltaU) || !k.Tests() {
			continue
		}
		if control.Feature(k.Feature) == control.VegetatedGround {
			vegetated = append(vegetated, k.DeltaU)
			continue
		}
		open = append(open, k.DeltaU)
		sigma := k.SurveySigma[2]
		if !(sigma > 0) {
			sigma = math.NaN()
		}
		sum += sigma * sigma
	}
	if len(open)+len(vegetated) == 0 {
		return nil
	}
	v := &Vertical{Open: control.AxisOf(open), Vegetated: control.AxisOf(vegetated), Survey: control.Value(math.Sqrt(sum / float64(len(open))))}
	v.Product = control.Value(math.Hypot(float64(v.Open.RMSE), float64(v.Survey)))
	return v
}

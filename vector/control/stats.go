package control

import (
	"math"
	"strings"

	"quoin/vector"
)

// Constants of the NSSDA (FGDC-STD-007.3-1998), for normal errors.
const (
	// plane95 is the radius that holds 95 % of the errors, in standard errors
	// of one axis: √(−2 ln 0.05), rounded as printed.
	plane95 = 2.4477
	// radial95 is plane95/√2 as printed: the factor on the radial RMSE.
	radial95 = 1.7308
	// line95 is the same on a line.
	line95 = 1.96
	// leastRatio is the least ratio of the axes' RMSE for which the mean of
	// the two stands in for them.
	leastRatio = 0.6
	// LeastPoints is the number of points below which the NSSDA is not met.
	LeastPoints = 20
)

// A Rule names the formula of a horizontal accuracy.
type Rule string

// The rules. Which one holds follows from the ratio of the smaller to the
// larger of the two axes' RMSE.
const (
	EqualAxes   Rule = "equal axes"   // ratio 1: 1.7308 · RMSE_H
	UnequalAxes Rule = "unequal axes" // 0.6 to 1: 2.4477 · (RMSE_E + RMSE_N)/2
	// Circle is for ratios below 0.6, for which the NSSDA has no formula: the
	// radius of the circle around the error ellipse by the polynomial of the
	// National Geodetic Survey's data sheets (FGDC-STD-007.2-1998).
	Circle Rule = "circle of the ellipse"
	NoRule Rule = ""
)

// An Axis is the statistics of one component of the differences.
type Axis struct {
	N    int   `json:"n"`
	Mean Value `json:"mean"`
	// SD is the standard deviation about the mean, with n − 1.
	SD   Value `json:"sd"`
	RMSE Value `json:"rmse"`
	// Largest is the largest difference by size, with its sign.
	Largest Value `json:"largest"`
}

// Statistics describes a set of differences. What cannot be computed from so
// few is NaN, null in JSON.
type Statistics struct {
	East  Axis `json:"east"`
	North Axis `json:"north"`
	Up    Axis `json:"up"`
	// RMSEH is the radial horizontal RMSE, √(RMSE_E² + RMSE_N²).
	RMSEH Value `json:"rmse_h"`
	// Ratio is that of the smaller to the larger RMSE of the two axes.
	Ratio Value `json:"ratio"`
	// Horizontal95 is the horizontal accuracy at 95 % confidence by Rule;
	// EqualAxes95 and UnequalAxes95 are what the two formulas of the NSSDA
	// give, whether or not they hold.
	Horizontal95  Value `json:"horizontal_95"`
	Rule          Rule  `json:"horizontal_95_rule"`
	EqualAxes95   Value `json:"equal_axes_95"`
	UnequalAxes95 Value `json:"unequal_axes_95"`
	// Vertical95 is the vertical accuracy at 95 % confidence, 1.96 · RMSE_U.
	Vertical95 Value `json:"vertical_95"`
}

// A Finding is a point of which something is not used, and why.
type Finding struct {
	ControlID string `json:"control_id"`
	Reason    string `json:"reason"`
}

// A Detail is one check in a form that JSON can hold. DeltaH is the horizontal
// distance between corner and point.
type Detail struct {
	ControlID  string `json:"control_id"`
	East       Value  `json:"east"`
	North      Value  `json:"north"`
	Elevation  Value  `json:"elevation"`
	BuildingID string `json:"building_id,omitempty"`
	Ring       int    `json:"ring"`
	Vertex     int    `json:"vertex"`
	DeltaE     Value  `json:"delta_e"`
	DeltaN     Value  `json:"delta_n"`
	DeltaU     Value  `json:"delta_u"`
	DeltaH     Value  `json:"delta_h"`
	Used       bool   `json:"used"`
	Reason     string `json:"reason,omitempty"`
	Role       string `json:"role"`
	Feature    string `json:"feature,omitempty"`
}

// A Result is what the checks of one delivery come to.
type Result struct {
	// Surveyed, Matched and Used count points: given, with a corner, and left
	// when blunders in plan are taken out. Buildings counts those with a used point:
	// corners of one building are not independent of each other.
	// Others counts, among the surveyed, the points that test no corner: those
	// that may adjust, that the cloud was fitted to, and those on walls and on
	// the ground. They are in no statistics.
	Surveyed  int `json:"surveyed"`
	Others    int `json:"others"`
	Matched   int `json:"matched"`
	Used      int `json:"used"`
	Buildings int `json:"buildings"`
	// All is of all matched points, blunders included, Kept of the used ones,
	// without elevations that are blunders.
	All  Statistics `json:"all_matched"`
	Kept Statistics `json:"without_blunders"`
	// Blunders and Unmatched are in the order of the checks.
	Blunders  []Finding `json:"blunders"`
	Unmatched []Finding `json:"unmatched"`
	// Points has every check, in order.
	Points []Detail `json:"points"`
	// BlundersSought is false where the points are too few to find any.
	BlundersSought bool `json:"blunders_sought"`
}

// Stats returns the statistics of the checks that Match gave.
func Stats(checks []vector.CornerCheck) Result {
	r := Result{Surveyed: len(checks), Blunders: []Finding{}, Unmatched: []Finding{}, Points: make([]Detail, 0, len(checks))}
	var all, kept []vector.CornerCheck
	buildings := map[string]bool{}
	for _, c := range checks {
		r.Points = append(r.Points, detail(c))
		finding := Finding{c.ControlID, c.Reason}
		if !c.Tests() || !Feature(c.Feature).Corner() {
			r.Others++
			continue
		}
		if math.IsNaN(c.DeltaE + c.DeltaN) {
			r.Unmatched = append(r.Unmatched, finding)
			continue
		}
		all = append(all, c)
		if strings.HasPrefix(c.Reason, BlunderReason) {
			r.Blunders = append(r.Blunders, finding)
		}
		if !c.Used {
			continue
		}
		if strings.HasPrefix(c.Reason, ElevationBlunder) {
			c.DeltaU = math.NaN()
		}
		kept = append(kept, c)
		buildings[c.BuildingID] = true
	}
	r.Matched, r.Used, r.Buildings = len(all), len(kept), len(buildings)
	r.BlundersSought = len(all) >= leastForBlunders
	r.All, r.Kept = statistics(all), statistics(kept)
	return r
}

func detail(c vector.CornerCheck) Detail {
	return Detail{
		ControlID: c.ControlID, East: Value(c.Surveyed[0]), North: Value(c.Surveyed[1]), Elevation: Value(c.SurveyedU),
		BuildingID: c.BuildingID, Ring: c.Ring, Vertex: c.Vertex,
		DeltaE: Value(c.DeltaE), DeltaN: Value(c.DeltaN), DeltaU: Value(c.DeltaU), DeltaH: Value(math.Hypot(c.DeltaE, c.DeltaN)),
		Role: string(c.Role), Feature: c.Feature, Used: c.Used, Reason: c.Reason,
	}
}

func statistics(checks []vector.CornerCheck) Statistics {
	var e, n, u []float64
	for _, c := range checks {
		e, n = append(e, c.DeltaE), append(n, c.DeltaN)
		if !math.IsNaN(c.DeltaU) {
			u = append(u, c.DeltaU)
		}
	}
	s := Statistics{East: AxisOf(e), North: AxisOf(n), Up: AxisOf(u)}
	rmseE, rmseN := float64(s.East.RMSE), float64(s.North.RMSE)
	h := Accuracy95(rmseE, rmseN)
	s.RMSEH, s.Ratio = Value(math.Hypot(rmseE, rmseN)), Value(ratio(rmseE, rmseN))
	s.Horizontal95, s.Rule = Value(h.Radius), h.Rule
	s.EqualAxes95, s.UnequalAxes95 = radial95*s.RMSEH, Value(plane95*(rmseE+rmseN)/2)
	s.Vertical95 = line95 * s.Up.RMSE
	return s
}

// AxisOf returns the statistics of one component; all NaN for none.
func AxisOf(d []float64) Axis {
	nan := Value(math.NaN())
	a := Axis{N: len(d), Mean: nan, SD: nan, RMSE: nan, Largest: nan}
	if len(d) == 0 {
		return a
	}
	n := float64(len(d))
	var sum, sumSq, aboutSq, largest float64
	for _, v := range d {
		sum += v
		sumSq += v * v
		if math.Abs(v) > math.Abs(largest) {
			largest = v
		}
	}
	mean := sum / n
	for _, v := range d {
		aboutSq += (v - mean) * (v - mean)
	}
	a.Mean, a.RMSE, a.Largest = Value(mean), Value(math.Sqrt(sumSq/n)), Value(largest)
	if len(d) > 1 {
		a.SD = Value(math.Sqrt(aboutSq / (n - 1)))
	}
	return a
}

package control

import (
	"math"

	"quoin/vector"
)

// A Horizontal is a horizontal accuracy at 95 % confidence: the radius of a
// circle, and the rule it comes from.
type Horizontal struct {
	Radius float64
	Rule   Rule
}

// Accuracy95 returns the horizontal accuracy at 95 % confidence from the RMSE
// of the two axes, by the formula that the NSSDA has for their ratio
// (FGDC-STD-007.3-1998, appendix 3-A), and below the ratios it covers by
// vector.Circle95. NaN gives NaN and no rule.
func Accuracy95(rmseE, rmseN float64) Horizontal {
	r := ratio(rmseE, rmseN)
	switch {
	case math.IsNaN(r):
		return Horizontal{math.NaN(), NoRule}
	case r == 1:
		return Horizontal{radial95 * math.Hypot(rmseE, rmseN), EqualAxes}
	case r >= leastRatio:
		return Horizontal{plane95 * (rmseE + rmseN) / 2, UnequalAxes}
	}
	return Horizontal{vector.Circle95(max(rmseE, rmseN), min(rmseE, rmseN)), Circle}
}

// ratio returns the smaller value through the larger; 1 for two zeros.
func ratio(a, b float64) float64 {
	if a == 0 && b == 0 {
		return 1
	}
	return min(a, b) / max(a, b)
}

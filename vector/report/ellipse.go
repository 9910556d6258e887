package report

import (
	"math"
	"slices"

	"quoin/vector"
)

// ellipse95 takes the axes of a standard error ellipse to those of the one that
// holds 95 %: √(−2 ln 0.05).
const ellipse95 = 2.4477

// An ellipse holds 95 % of the errors of a position: its semi-axes in pixels
// and the direction of the major one in degrees clockwise from east, as SVG
// turns things; zeros where it is unknown.
type ellipse struct{ Major, Minor, Turn float64 }

// axesOf returns the standard error ellipse of a corner: in the CRS where that
// is known, else relative to the cloud.
func axesOf(c vector.Corner) (major, minor, direction float64) {
	if n := c.Network; n != nil {
		return vector.Ellipse(n.SigmaE, n.SigmaN, n.CovEN)
	}
	return c.Axes()
}

// ellipseOf returns the ellipse of a corner at so many pixels a unit.
func ellipseOf(c vector.Corner, scale float64) ellipse {
	major, minor, direction := axesOf(c)
	if !(major > 0 && scale > 0) || math.IsInf(major, 0) {
		return ellipse{}
	}
	return ellipse{ellipse95 * major * scale, ellipse95 * minor * scale, -direction * 180 / math.Pi}
}

// visible is the size in pixels that the median ellipse is drawn with.
const visible = 9

// exaggeration returns the round factor that makes the median ellipse visible,
// 1 where that is so without one; 0 where no corner has an ellipse.
func exaggeration(corners []vector.Corner, scale float64) float64 {
	var v []float64
	for _, c := range corners {
		if major, _, _ := axesOf(c); major > 0 && !math.IsInf(major, 0) {
			v = append(v, major)
		}
	}
	if len(v) == 0 {
		return 0
	}
	slices.Sort(v)
	return max(roundLength(visible/(ellipse95*v[len(v)/2]*scale)), 1)
}

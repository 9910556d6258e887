package plate

import (
	"fmt"
	"math"
	"slices"

	"quoin/vector"
)

// ellipse95 takes the axes of a standard error ellipse to those of the one that
// holds 95 %: √(−2 ln 0.05).
const ellipse95 = 2.4477

// axes returns the standard error ellipse of a corner: in the CRS where that is
// known, else relative to the cloud.
func axes(c vector.Corner) (major, minor, direction float64) {
	if n := c.Network; n != nil {
		return vector.Ellipse(n.SigmaE, n.SigmaN, n.CovEN)
	}
	return c.Axes()
}

// ellipse draws the ellipse that holds 95 % of errors, so many times too large.
func (d *drawing) ellipse(class string, x, y, major, minor, direction, times float64) {
	if !(major > 0) || math.IsInf(major, 0) {
		return
	}
	k := ellipse95 * times * d.scale
	fmt.Fprintf(d, `<ellipse class="%s" rx="%s" ry="%s" transform="translate(%s %s) rotate(%s)"/>`,
		class, short(major*k), short(minor*k), short(x), short(y), short(-direction*180/math.Pi))
}

// visible is the size that the median ellipse is drawn with, in units of the
// drawing.
const visible = 20

// exaggeration returns the round factor that makes the median ellipse visible, 1
// where that is so without one.
func exaggeration(corners []vector.Corner, scale float64) float64 {
	var v []float64
	for _, c := range corners {
		if major, _, _ := axes(c); major > 0 && !math.IsInf(major, 0) {
			v = append(v, major)
		}
	}
	if len(v) == 0 {
		return 1
	}
	slices.Sort(v)
	return max(roundLength(visible/(ellipse95*v[len(v)/2]*scale)), 1)
}

// corners draws the corners with their ellipses.
func (d *drawing) corners(list []vector.Corner, times float64) {
	for _, c := range list {
		x, y := d.at(c.Point)
		major, minor, direction := axes(c)
		d.ellipse("error", x, y, major, minor, direction, times)
		class := "corner"
		if c.Kind == vector.Extended {
			class += " extended"
		}
		fmt.Fprintf(d, `<circle class="%s" cx="%s" cy="%s" r="4.5"/>`, class, short(x), short(y))
	}
}

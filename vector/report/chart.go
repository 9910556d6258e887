package report

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"quoin/vector"
	"quoin/vector/assess"
)

// A chart is a diagram in pixels, y downwards, whose axes cross at its lower
// left corner.
type chart struct {
	Title, Text string
	Width       float64
	Height      float64
	Bars        []bar
	// Curve is the path of what is expected, Band of the region that it stays
	// in, both empty for none; Dots are single values.
	Curve, Band string
	Dots        [][2]float64
	Ticks       []tick
	// Y has the ticks of the vertical axis.
	Y []tick
}

// Outer is the width with the margins.
func (c chart) Outer() float64 { return c.Width + 54 }

type bar struct{ X, Y, W, H float64 }

// A tick is a place along an axis and what stands there.
type tick struct {
	At   float64
	Text string
}

const chartWidth, chartHeight = 240.0, 130.0

// histogram counts values in bins that are symmetrical about zero. outside is
// the number of values beyond the last bins.
func histogram(values []float64, width float64, half int) (counts []int, outside int) {
	counts = make([]int, 2*half)
	for _, v := range values {
		i := int(math.Floor(v/width)) + half
		if i < 0 || i >= len(counts) {
			outside++
			continue
		}
		counts[i]++
	}
	return counts, outside
}

// newHistogram draws counts; curve gives the count expected of a bin whose
// middle is at so many widths from zero, nil for none.
func newHistogram(title string, counts []int, label func(bin int) string, curve func(float64) float64) chart {
	c := chart{Title: title, Width: chartWidth, Height: chartHeight}
	half, top := len(counts)/2, 1.0
	for _, n := range counts {
		top = max(top, float64(n))
	}
	if curve != nil {
		top = max(top, curve(0))
	}
	w := chartWidth / float64(len(counts))
	for i, n := range counts {
		if n > 0 {
			h := float64(n) / top * chartHeight * 0.95
			c.Bars = append(c.Bars, bar{float64(i) * w, chartHeight - h, w, h})
		}
	}
	for i := 0; i <= len(counts); i += max(half/2, 1) {
		c.Ticks = append(c.Ticks, tick{float64(i) * w, label(i - half)})
	}
	c.Y = []tick{{chartHeight * 0.05, fmt.Sprintf("%.0f", top)}}
	if curve == nil {
		return c
	}
	var b strings.Builder
	const steps = 60
	for i := range steps + 1 {
		x := (float64(i)/steps*2 - 1) * float64(half)
		fmt.Fprintf(&b, "%s%.1f %.1f", []string{"L", "M"}[min(1, max(0, 1-i))], float64(i)/steps*chartWidth, chartHeight-curve(x)/top*chartHeight*0.95)
	}
	c.Curve = b.String()
	return c
}

// errorCharts are the histograms of the used differences, an axis each.
func errorCharts(c Content) []chart {
	var charts []chart
	for _, axis := range []struct {
		name string
		of   func(vector.CornerCheck) float64
		unit vector.Unit
	}{
		{"east", func(k vector.CornerCheck) float64 { return k.DeltaE }, c.Delivery.CRS.Horizontal},
		{"north", func(k vector.CornerCheck) float64 { return k.DeltaN }, c.Delivery.CRS.Horizontal},
		{"up", func(k vector.CornerCheck) float64 { return k.DeltaU }, c.Delivery.CRS.Vertical},
	} {
		var v []float64
		for _, k := range c.Delivery.Checks {
			if d := axis.of(k); ofRoof(k) && k.Used && !math.IsNaN(d) && (axis.name != "up" || k.Reason == "") {
				v = append(v, c.Format.convert(d, axis.unit))
			}
		}
		if len(v) == 0 {
			continue
		}
		reach := 0.0
		for _, d := range v {
			reach = max(reach, math.Abs(d))
		}
		const half = 8
		width := math.Max(roundUp(reach/half), 1e-4)
		counts, _ := histogram(v, width, half)
		label := func(bin int) string { return c.Format.Number(decimals(width), float64(bin)*width) }
		charts = append(charts, newHistogram(fmt.Sprintf("Differences %s, %s, n = %d", axis.name, c.Format.in(axis.unit).Symbol, len(v)), counts, label, nil))
	}
	return charts
}

// roundUp returns the least 1, 2 or 5 times a power of ten that is not below a
// length.
func roundUp(l float64) float64 {
	if !(l > 0) {
		return 0
	}
	power := math.Pow(10, math.Floor(math.Log10(l)))
	for _, f := range []float64{1, 2, 5} {
		if f*power >= l*(1-1e-12) {
			return f * power
		}
	}
	return 10 * power
}

// decimals are those that a step needs.
func decimals(step float64) int {
	return max(0, -int(math.Floor(math.Log10(step)+1e-9)))
}

// A normalised difference is one in standard errors along the axes of the
// ellipse that was expected of it.
type normalised struct{ major, minor float64 }

// normalise returns the used differences that have an expected error.
func normalise(c Content) []normalised {
	if c.Assessed == nil {
		return nil
	}
	checks := map[string]vector.CornerCheck{}
	for _, k := range c.Delivery.Checks {
		checks[k.ControlID] = k
	}
	var list []normalised
	for _, e := range c.Assessed.Ellipses {
		k := checks[e.ControlID]
		sin, cos := math.Sincos(float64(e.Azimuth) * math.Pi / 180)
		n := normalised{(k.DeltaE*sin + k.DeltaN*cos) / float64(e.Major), (k.DeltaE*cos - k.DeltaN*sin) / float64(e.Minor)}
		if !math.IsNaN(n.major+n.minor) && !math.IsInf(n.major+n.minor, 0) {
			list = append(list, n)
		}
	}
	return list
}

// leastForCharts is the number of differences below which a distribution shows
// nothing.
const leastForCharts = 8

// qualityCharts compare normalised differences with the normal distribution, and
// the share of them in each confidence ellipse with what it should be.
func qualityCharts(c Content) []chart {
	list := normalise(c)
	if len(list) < leastForCharts {
		return nil
	}
	var v []float64
	for _, n := range list {
		v = append(v, n.major, n.minor)
	}
	const width, half = 0.5, 8
	counts, outside := histogram(v, width, half)
	total := float64(len(v))
	h := newHistogram(fmt.Sprintf("Normalised differences, n = %d", len(v)), counts,
		func(bin int) string { return c.Format.Number(0, float64(bin)*width) },
		func(bin float64) float64 {
			x := bin * width
			return total * width * math.Exp(-x*x/2) / math.Sqrt(2*math.Pi)
		})
	h.Text = "In standard errors along the axes of each expected ellipse; the line is the normal distribution."
	if outside > 0 {
		h.Text += fmt.Sprintf(" %d beyond the axis.", outside)
	}
	return []chart{h, calibration(list)}
}

// kolmogorov95 is the bound on the distance of a sample's distribution from
// its own, through √n, at 95 % (asymptotic value of Kolmogorov's statistic).
const kolmogorov95 = 1.358

// calibration draws the share of differences inside of their expected ellipse of
// each probability.
func calibration(list []normalised) chart {
	c := chart{
		Title: "Calibration", Width: chartHeight, Height: chartHeight,
		Text: "Share of differences inside of their ellipse (up) against its probability (right), per cent. Dots above the line: standard errors are too large; below: too small. The band holds 95 % of samples of this size.",
	}
	var p []float64
	for _, n := range list {
		p = append(p, 1-math.Exp(-(n.major*n.major+n.minor*n.minor)/2))
	}
	slices.Sort(p)
	n := float64(len(p))
	for i, v := range p {
		c.Dots = append(c.Dots, [2]float64{v * chartHeight, (1 - (float64(i)+0.5)/n) * chartHeight})
	}
	band := min(kolmogorov95/math.Sqrt(n), 1) * chartHeight
	s := chartHeight
	c.Band = fmt.Sprintf("M0 %.1fL0 %.1fL%.1f 0L%.1f 0L%.1f %.1fL%.1f %.1fZ", s, s-band, s-band, s, s, band, band, s)
	c.Curve = fmt.Sprintf("M0 %.1fL%.1f 0", s, s)
	for _, t := range []float64{0, 50, 95} {
		c.Ticks = append(c.Ticks, tick{t / 100 * s, fmt.Sprintf("%g", t)})
		c.Y = append(c.Y, tick{(1 - t/100) * s, fmt.Sprintf("%g", t)})
	}
	return c
}

// ofRoof reports whether a check is one of a roof corner.
func ofRoof(k vector.CornerCheck) bool { return !assess.Apart(k) }

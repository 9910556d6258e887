package report

import (
	"fmt"
	"html/template"
	"math"
	"slices"
	"strings"

	"quoin/vector"
	"quoin/vector/assess"
	"quoin/vector/control"
)

// residuals is the diagram of the differences at surveyed points.
type residuals struct {
	Points []residual
	// Rings are circles of round lengths; Reach is the largest.
	Rings  []ring
	Circle float64 // radius of the 95 % circle, 0 when unknown
	Text   string
}

// A residual is one difference, in the diagram's pixels from its middle.
type residual struct {
	ID   string
	X, Y float64
	Used bool
	// ellipse is that of the difference as it was expected to scatter.
	ellipse
}

type ring struct {
	Radius float64
	Text   string
}

// residualSize is half the side of the diagram.
const residualSize = 150

func newResiduals(c Content) *residuals {
	if c.Checked == nil || c.Checked.Matched == 0 {
		return nil
	}
	reach := 0.0
	for _, k := range c.Delivery.Checks {
		if d := math.Hypot(k.DeltaE, k.DeltaN); ofRoof(k) && d > reach {
			reach = d
		}
	}
	f, unit := c.Format, c.Delivery.CRS.Horizontal
	inReport := f.convert(1, unit) // round in the unit of the report
	step := roundLength(max(reach/2, 1e-4)*inReport) / inReport
	scale := residualSize * 0.9 / max(reach, step)
	r := &residuals{}
	for k := 1; float64(k)*step*scale <= residualSize; k++ {
		r.Rings = append(r.Rings, ring{float64(k) * step * scale, f.length(decimals(step*inReport), float64(k)*step, unit)})
	}
	if v := float64(c.Checked.Kept.Horizontal95); v > 0 && v*scale <= residualSize {
		r.Circle = v * scale
	}
	ellipses := map[string]assess.Ellipse{}
	if c.Assessed != nil {
		for _, e := range c.Assessed.Ellipses {
			ellipses[e.ControlID] = e
		}
	}
	for _, k := range c.Delivery.Checks {
		if !ofRoof(k) || math.IsNaN(k.DeltaE) || math.IsNaN(k.DeltaN) {
			continue
		}
		p := residual{ID: k.ControlID, X: k.DeltaE * scale, Y: -k.DeltaN * scale, Used: k.Used}
		if e, ok := ellipses[k.ControlID]; ok {
			p.ellipse = ellipse{ellipse95 * float64(e.Major) * scale, ellipse95 * float64(e.Minor) * scale, float64(e.Azimuth) - 90}
		}
		r.Points = append(r.Points, p)
	}
	return r
}

// summarise works out the figures at the top of the page.
func (p *page) summarise() {
	var sigmas []float64
	for _, b := range p.Buildings {
		p.Area += b.Area
		for _, c := range b.Corners {
			if c.Kind == vector.Adjusted {
				p.Adjusted++
			}
			if major, _, _ := c.Axes(); !math.IsNaN(major) {
				sigmas = append(sigmas, major)
			}
		}
	}
	slices.Sort(sigmas)
	if n := len(sigmas); n > 0 {
		p.SigmaMid, p.SigmaTop = sigmas[n/2], sigmas[min(n*95/100, n-1)]
	}
}

// functions are what the template formats with: number is for coordinates of
// drawings, all others are for people.
func functions(crs vector.CRS, f Format) template.FuncMap {
	in := func(write func(digits int, v float64) string) func(int, any) (string, error) {
		return func(digits int, v any) (string, error) {
			n, err := numberOf(v)
			return write(digits, n), err
		}
	}
	return template.FuncMap{
		"number": in(func(digits int, v float64) string { return fmt.Sprintf("%.*f", digits, v) }),
		"say":    in(f.Number),
		"length": in(func(digits int, v float64) string { return f.length(digits, v, crs.Horizontal) }),
		"height": in(func(digits int, v float64) string { return f.length(digits, v, crs.Vertical) }),
		"plan":   in(func(digits int, v float64) string { return f.Number(digits, f.convert(v, crs.Horizontal)) }),
		"up":     in(func(digits int, v float64) string { return f.Number(digits, f.convert(v, crs.Vertical)) }),
		"square": in(f.area),
		"area": in(func(digits int, v float64) string {
			return f.area(digits, v) + " " + f.in(vector.Metre).Symbol + "²"
		}),
		"decimal":  func() string { d, _ := f.Locale.signs(); return d },
		"unit":     func() string { return symbol(f.in(crs.Horizontal)) },
		"unitUp":   func() string { return symbol(f.in(crs.Vertical)) },
		"unitArea": func() string { return f.in(vector.Metre).Symbol + "²" },
		// What has blanks in a row is a row of a table or a form.
		"table": func(line string) bool { return strings.Contains(line, "  ") },
		"plural": func(n int, what string) string {
			if n == 1 {
				return "1 " + what
			}
			return fmt.Sprintf("%d %ss", n, what)
		},
	}
}

func numberOf(v any) (float64, error) {
	switch n := v.(type) {
	case float64:
		return n, nil
	case control.Value:
		return float64(n), nil
	case int:
		return float64(n), nil
	}
	return math.NaN(), fmt.Errorf("%T is no number", v)
}

func symbol(u vector.Unit) string {
	if !u.Known() {
		return "units of the CRS"
	}
	return u.Symbol
}

package control

import (
	"fmt"
	"math"
	"strings"

	"quoin/vector"
)

// Summary returns the result as text of a few lines, with all figures both
// with and without blunders, and every point that is not used by name. Units
// that are not known are left out.
func (r Result) Summary(crs vector.CRS) string {
	var b strings.Builder
	fmt.Fprintf(&b, "Control: %s, %d matched to a corner, %d used (on %s)\n",
		counted(r.Surveyed, "surveyed point"), r.Matched, r.Used, counted(r.Buildings, "building"))
	if r.Others > 0 {
		fmt.Fprintf(&b, "Not tests of corners: %s (control, used in georeferencing, on walls or on the ground)\n", counted(r.Others, "point"))
	}
	if r.Matched > 0 {
		r.figures(&b, crs)
	}
	if r.Matched > 0 && !r.BlundersSought {
		fmt.Fprintf(&b, "Blunders: not looked for, as fewer than %d points are matched\n", leastForBlunders)
	}
	list(&b, "Blunders, left out of the second figures", r.Blunders)
	list(&b, "Not matched", r.Unmatched)
	if r.Matched > 0 && r.Used < LeastPoints {
		fmt.Fprintf(&b, "Note: %d used, and the NSSDA asks for %d: a figure from so few is an indication, not a test by that standard\n", r.Used, LeastPoints)
	}
	return b.String()
}

func (r Result) figures(b *strings.Builder, crs vector.CRS) {
	const row = "%-18s %4d %9s %9s %9s %9s %9s %9s %9s %9s\n"
	fmt.Fprintf(b, "%-18s %4s %9s %9s %9s %9s %9s %9s %9s %9s%s\n", "", "n",
		"mean E", "mean N", "sd E", "sd N", "RMSE E", "RMSE N", "RMSE H", "95 % H", inUnit(crs.Horizontal))
	sets := []struct {
		name string
		s    Statistics
	}{{"all matched", r.All}, {"without blunders", r.Kept}}
	for _, set := range sets {
		s := set.s
		fmt.Fprintf(b, row, set.name, s.East.N, signed(s.East.Mean), signed(s.North.Mean), plain(s.East.SD), plain(s.North.SD),
			plain(s.East.RMSE), plain(s.North.RMSE), plain(s.RMSEH), plain(s.Horizontal95))
	}
	if r.All.Up.N > 0 {
		fmt.Fprintf(b, "%-18s %4s %9s %9s %9s %9s%s\n", "", "n", "mean U", "sd U", "RMSE U", "95 % U", inUnit(crs.Vertical))
		for _, set := range sets {
			u := set.s.Up
			fmt.Fprintf(b, "%-18s %4d %9s %9s %9s %9s\n", set.name, u.N, signed(u.Mean), plain(u.SD), plain(u.RMSE), plain(set.s.Vertical95))
		}
	}
	fmt.Fprintf(b, "Differences are delivered minus surveyed. 95 %% H: %s", formula(r.Kept))
	if r.All.Up.N > 0 {
		b.WriteString("; 95 % U: 1.96 · RMSE U (NSSDA)")
	}
	b.WriteByte('\n')
}

func formula(s Statistics) string {
	ratio := fmt.Sprintf("%.2f", float64(s.Ratio))
	switch s.Rule {
	case EqualAxes:
		return "1.7308 · RMSE H (NSSDA, equal axes)"
	case UnequalAxes:
		return "2.4477 · (RMSE E + RMSE N)/2 (NSSDA, unequal axes, ratio " + ratio + ")"
	case Circle:
		return "circle around the error ellipse (ratio " + ratio + ", below 0.6, for which the NSSDA has no formula)"
	}
	return "none, as no point is used"
}

func list(b *strings.Builder, title string, findings []Finding) {
	if len(findings) == 0 {
		return
	}
	fmt.Fprintf(b, "%s: %d\n", title, len(findings))
	for _, f := range findings {
		fmt.Fprintf(b, "  %s: %s\n", f.ControlID, f.Reason)
	}
}

func counted(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

func inUnit(u vector.Unit) string {
	if !u.Known() {
		return ""
	}
	return "  " + u.Symbol
}

func plain(v Value) string {
	if math.IsNaN(float64(v)) {
		return "-"
	}
	return fmt.Sprintf("%.3f", float64(v))
}

func signed(v Value) string {
	if math.IsNaN(float64(v)) {
		return "-"
	}
	text := fmt.Sprintf("%+.3f", float64(v))
	if text == "-0.000" || text == "+0.000" {
		return "0.000"
	}
	return text
}

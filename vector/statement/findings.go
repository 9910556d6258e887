package statement

import (
	"fmt"
	"math"
	"strings"

	"quoin/vector/assess"
	"quoin/vector/control"
)

func findings(c Content, a *assess.Assessment) []string {
	var lines []string
	for _, s := range a.Suspects {
		lines = append(lines, "Possible mix-up: "+s+".")
	}
	against := "the RMSE"
	if a.Class.Target > 0 {
		against = "the target RMSE"
	}
	for _, b := range a.Bias {
		if !b.Large && !b.Significant {
			continue
		}
		what := against
		if b.Axis == "up" {
			what = "the RMSE"
		}
		lines = append(lines, fmt.Sprintf("Bias %s: the mean of %s is %.0f %% of %s%s%s.", b.Axis, signed(b.Mean), 100*float64(b.Share), what,
			when(b.Large, ", above the 25 % from which on it calls for an explanation"), when(b.Significant, ", and significant at 5 %")))
	}
	for _, f := range a.Blunders {
		lines = append(lines, "Left out of the second line of figures: "+f.ControlID+": "+f.Reason+".")
	}
	for _, f := range a.Candidates {
		lines = append(lines, "Beyond three times the target RMSE: "+f.ControlID+": "+f.Reason+".")
	}
	if a.Matched > 0 && !a.BlundersSought {
		lines = append(lines, "Too few points to look for blunders among them.")
	}
	lines = append(lines, snooping(c, a.Snooping)...)
	if t := a.Trend; t != nil {
		lines = append(lines, trend(t))
	}
	return lines
}

func when(yes bool, text string) string {
	if yes {
		return text
	}
	return ""
}

func snooping(c Content, s assess.Snooping) []string {
	if s.Test == assess.NoTest {
		return nil
	}
	lines := []string{fmt.Sprintf("%s of each component, critical value %.2f: %s%s.", capital(s.Test), float64(s.Critical), failedCount(len(s.Failed)),
		when(!math.IsNaN(float64(s.Detectable)), fmt.Sprintf("; single blunders of %s are found with a power of 80 %%", length(s.Detectable, c.CRS.Horizontal))))}
	for _, f := range s.Failed {
		lines = append(lines, fmt.Sprintf("Failed: %s %s, %.1f.", f.ControlID, f.Axis, float64(f.Value)))
	}
	return lines
}

func capital(s string) string { return strings.ToUpper(s[:1]) + s[1:] }

func failedCount(n int) string {
	if n == 0 {
		return "none failed"
	}
	return fmt.Sprintf("%d failed", n)
}

func trend(t *assess.Adjustment) string {
	text := fmt.Sprintf("Trend of delivered against surveyed: scale %+.0f ± %.0f ppm, rotation %+.0f ± %.0f seconds of arc", float64(t.ScalePPM), float64(t.SigmaPPM), float64(t.RotationSec), float64(t.SigmaRotation))
	switch {
	case math.IsNaN(float64(t.P)):
		return text + "; too few points to say whether it is significant."
	case t.P < 0.05:
		return text + fmt.Sprintf("; significant (p = %.3f). It is reported and was not applied.", float64(t.P))
	}
	return text + fmt.Sprintf("; not significant (p = %.2f).", float64(t.P))
}

func uncertainties(c Content, a *assess.Assessment) []string {
	k, n, u := a.Consistency, a.Network, c.CRS.Horizontal
	var lines []string
	if k.Verdict == assess.Undecided {
		lines = append(lines, "Whether the standard errors of corners hold was not tested: they are unknown, or fewer than four points are used.")
	} else {
		survey := ""
		if !k.SurveyError {
			survey = " The survey's own error is not known and counted as none."
		}
		lines = append(lines, fmt.Sprintf("The stated uncertainties of corners are %s: chi-square %.1f with %d degrees of freedom, between %.1f and %.1f where they hold (5 %%, two-sided); they would fit with a factor of %.2f. One shift of the block was estimated from the same points and charged with two degrees of freedom. Blunders named above are not in it.%s",
			k.Verdict, float64(k.Statistic), k.DoF, float64(k.Lower), float64(k.Upper), float64(k.Factor), survey))
	}
	if math.IsNaN(float64(n.GeoreferencingE)) {
		return append(lines, "The error of the cloud's position in the CRS was not estimated: it takes three used points and standard errors of their corners.")
	}
	return append(lines,
		fmt.Sprintf("Position of the cloud in the CRS, from the differences beyond local and survey errors: %s east, %s north (standard error). Definition of an edge: %s on each axis. %s have standard errors in the CRS (network_sigma_e, network_sigma_n); those further from the check points than a quarter of their extent have none.",
			length(n.GeoreferencingE, u), length(n.GeoreferencingN, u), length(n.Floor, u), counted(n.Corners, "corner")),
		fmt.Sprintf("%d of %d differences lie in the 95 %% circle of their own expected error.", inside(a.Ellipses), len(a.Ellipses)))
}

func inside(list []assess.Ellipse) int {
	n := 0
	for _, e := range list {
		if e.Inside {
			n++
		}
	}
	return n
}

// leastGround is the number of points below which the vertical figure is an
// indication only (ASPRS Edition 2, from memory).
const leastGround = 30

func ground(c Content, a *assess.Assessment) []string {
	g, u := a.Ground, c.CRS.Vertical
	var lines []string
	if g.Open.N > 0 {
		lines = append(lines, fmt.Sprintf("Non-vegetated: %s, mean %s, RMSE_V1 = %s, survey RMSE_V2 = %s, product RMSE_V = %s%s.",
			counted(g.Open.N, "point"), signed(g.Open.Mean), length(g.Open.RMSE, u), length(g.Survey, u), length(g.Product, u),
			when(g.Open.N < leastGround, "; so few points are an indication, not a test by a standard")))
	}
	if g.Vegetated.N > 0 {
		lines = append(lines, fmt.Sprintf("Vegetated: %s, mean %s, RMSE %s, as found.", counted(g.Vegetated.N, "point"), signed(g.Vegetated.Mean), length(g.Vegetated.RMSE, u)))
	}
	if g.Open.N >= control.LeastPoints {
		lines = append(lines, fmt.Sprintf("NSSDA, non-vegetated ground: Tested %.3f %s vertical accuracy at 95%% confidence level.", 1.96*float64(g.Open.RMSE), reporting(u)))
	}
	return append(lines, "Differences are those of the ground surface fitted to the cloud, minus surveyed.")
}

func adjustment(c Content, a *assess.Assessment) []string {
	j, u := a.Adjustment, c.CRS.Horizontal
	text := fmt.Sprintf("All layers were moved by a %s from %s (%s): %s east, %s north, ± %s", j.Method, counted(len(j.Points), "control point"), strings.Join(j.Points, ", "),
		signed(j.ShiftE), signed(j.ShiftN), length(j.SigmaShift, u))
	if j.Method == assess.WholeSimilarity {
		text += fmt.Sprintf("; scale %+.0f ± %.0f ppm, rotation %+.0f ± %.0f seconds of arc", float64(j.ScalePPM), float64(j.SigmaPPM), float64(j.RotationSec), float64(j.SigmaRotation))
	}
	lines := []string{text + "."}
	for _, f := range j.LeftOut {
		lines = append(lines, "Control point left out: "+f.ControlID+": "+f.Reason+".")
	}
	if j.Before != nil && j.After != nil {
		lines = append(lines, fmt.Sprintf("At the check points, which were held out: RMSE H %s before (%d points), %s after (%d points). All other figures are those after.%s",
			length(j.Before.RMSEH, u), j.Before.East.N, length(j.After.RMSEH, u), j.After.East.N, when(j.Worse(), " It made them worse.")))
	}
	return lines
}

func method(a *assess.Assessment) []string {
	lines := []string{
		"Each surveyed point was matched to one corner at most and each corner to one point, with the least sum of squared distances within a radius. Differences beyond the radius cannot be seen; points without a corner are listed.",
		"Check points were withheld: nothing was fitted to them. The NSSDA value comes from the raw RMSE; the class of Edition 2 holds the error of the survey.",
	}
	if a.Adjustment == nil {
		lines = append(lines, "The delivery was not adjusted to surveyed points.")
	}
	return lines
}

// Brief returns the lines for the end of a run: class, verdict and mix-ups.
func Brief(a *assess.Assessment, c Content) string {
	var b strings.Builder
	for _, s := range a.Suspects {
		fmt.Fprintf(&b, "Possible mix-up: %s\n", s)
	}
	if a.Matched == 0 {
		return b.String() + others(c, a)
	}
	k, u := a.Class, c.CRS.Horizontal
	fmt.Fprintf(&b, "ASPRS Edition 2: RMSE_H %s (fit %s, survey %s)", centimetres(k.Product, u), centimetres(k.Fit, u), centimetres(k.Survey, u))
	switch {
	case k.Target == 0:
		b.WriteString("; no class asked for\n")
	case k.Met && len(k.Short) == 0:
		fmt.Fprintf(&b, "; the %g-cm class is met\n", k.Target)
	case k.Met:
		fmt.Fprintf(&b, "; within %g cm, but short of a test by that standard\n", k.Target)
	default:
		fmt.Fprintf(&b, "; the %g-cm class is not shown to be met\n", k.Target)
	}
	if a.Consistency.Verdict != assess.Undecided {
		fmt.Fprintf(&b, "Stated uncertainties of corners: %s (factor %.2f)\n", a.Consistency.Verdict, float64(a.Consistency.Factor))
	}
	if j := a.Adjustment; j != nil && j.Before != nil && j.After != nil {
		fmt.Fprintf(&b, "Adjusted by a %s to %s: RMSE H at held-out points %s before, %s after\n", j.Method, counted(len(j.Points), "control point"), length(j.Before.RMSEH, u), length(j.After.RMSEH, u))
	}
	return b.String() + others(c, a)
}

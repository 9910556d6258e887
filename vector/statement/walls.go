package statement

import (
	"fmt"
	"math"
	"strings"

	"quoin/vector/assess"
	"quoin/vector/control"
)

// walls tells how wall lines fit surveyed wall corners.
func walls(c Content, w *assess.Walls) []string {
	u := c.CRS.Horizontal
	lines := []string{fmt.Sprintf("%s surveyed that test; at %d of them both walls are seen. They are compared with wall lines, never with roof edges, and are in no figure above.", counted(w.Surveyed, "wall corner"), w.Matched)}
	if w.Matched > 0 {
		lines = append(lines, fmt.Sprintf("All matched: %s on %s, mean %s east, %s north, RMSE H %s; without blunders %s, RMSE H %s.",
			counted(w.Matched, "corner"), counted(w.Buildings, "building"), signed(w.All.East.Mean), signed(w.All.North.Mean), length(w.All.RMSEH, u), counted(w.Kept.East.N, "corner"), length(w.Kept.RMSEH, u)))
	}
	if k := w.Consistency; k.Verdict != assess.Undecided {
		lines = append(lines, fmt.Sprintf("Stated uncertainties of wall corners are %s: chi-square %.1f with %d degrees of freedom, between %.1f and %.1f where they hold (factor %.2f).",
			k.Verdict, float64(k.Statistic), k.DoF, float64(k.Lower), float64(k.Upper), float64(k.Factor)))
	}
	for _, f := range w.Blunders {
		lines = append(lines, "Wall corner left out of the second figure: "+f.ControlID+": "+f.Reason+".")
	}
	return append(lines, byReason(w.NotComparable)...)
}

// byReason names the points of each reason, in the order in which they occur.
func byReason(list []control.Finding) []string {
	names := map[string][]string{}
	var reasons []string
	for _, f := range list {
		if len(names[f.Reason]) == 0 {
			reasons = append(reasons, f.Reason)
		}
		names[f.Reason] = append(names[f.Reason], f.ControlID)
	}
	var lines []string
	for _, r := range reasons {
		lines = append(lines, fmt.Sprintf("%s: %s.", strings.Join(names[r], ", "), r))
	}
	return lines
}

// clustered says what the points are worth, corners of one building being
// alike.
func clustered(c Content, k assess.Clusters) []string {
	if k.Points == 0 {
		return nil
	}
	if k.Points == k.Buildings {
		return nil
	}
	if math.IsNaN(float64(k.SigmaRMSE)) {
		return []string{fmt.Sprintf("Corners of one building are alike, and %s too few to say how much.", areBuildings(k.Buildings))}
	}
	u := c.CRS.Horizontal
	text := fmt.Sprintf("With buildings, not corners, as the independent units (%d): standard error of the mean %s east, %s north, of RMSE H %s; bias %s east, %s north.",
		k.Buildings, length(k.SigmaMeanE, u), length(k.SigmaMeanN, u), length(k.SigmaRMSE, u), chance(k.PE), chance(k.PN))
	if !math.IsNaN(float64(k.Correlation)) {
		text += fmt.Sprintf(" Differences on one building have a correlation of %.2f: the %d points are worth %.0f independent ones.", float64(k.Correlation), k.Points, float64(k.Effective))
	}
	return []string{text}
}

// chance prints a probability.
func chance(p control.Value) string {
	switch {
	case math.IsNaN(float64(p)):
		return "untested"
	case p < 0.001:
		return "p < 0.001"
	}
	return fmt.Sprintf("p = %.3f", float64(p))
}

func areBuildings(n int) string {
	if n == 1 {
		return "one building is"
	}
	return fmt.Sprintf("%d buildings are", n)
}

// others are the brief lines on what is tested beside roof corners.
func others(c Content, a *assess.Assessment) string {
	var text string
	if k := a.Clusters; !math.IsNaN(float64(k.Correlation)) {
		text += fmt.Sprintf("Corners of one building are alike (correlation %.2f): %d points on %s are worth %.0f; RMSE H ± %s\n",
			float64(k.Correlation), k.Points, counted(k.Buildings, "building"), float64(k.Effective), length(k.SigmaRMSE, c.CRS.Horizontal))
	}
	if g := a.Ground; g != nil {
		text += "Ground of the cloud:"
		if g.Open.N > 0 {
			text += fmt.Sprintf(" %s not vegetated, mean %s, RMSE %s", counted(g.Open.N, "point"), signed(g.Open.Mean), length(g.Open.RMSE, c.CRS.Vertical))
		}
		if g.Vegetated.N > 0 {
			text += fmt.Sprintf("%s %d vegetated, mean %s, RMSE %s", when(g.Open.N > 0, ";"), g.Vegetated.N, signed(g.Vegetated.Mean), length(g.Vegetated.RMSE, c.CRS.Vertical))
		}
		text += "\n"
	}
	if w := a.Walls; w != nil {
		text += fmt.Sprintf("Wall corners: %d surveyed, %d comparable", w.Surveyed, w.Matched)
		if w.Matched > 0 {
			text += fmt.Sprintf(", RMSE H %s (without blunders %s)", length(w.All.RMSEH, c.CRS.Horizontal), length(w.Kept.RMSEH, c.CRS.Horizontal))
		}
		text += "\n"
	}
	return text
}

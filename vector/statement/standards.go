package statement

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"quoin/vector"
	"quoin/vector/assess"
	"quoin/vector/control"
)

func sortFloats(v []float64) { slices.Sort(v) }

func figures(c Content, a *assess.Assessment) []string {
	if a.Matched == 0 {
		return []string{fmt.Sprintf("%s given, none matched to a corner.", counted(a.Surveyed, "surveyed point"))}
	}
	lines := []string{
		"Differences are delivered minus surveyed, in " + named(c.CRS.Horizontal) + ":",
		fmt.Sprintf("  %-17s %4s %9s %9s %8s %8s %8s", "", "n", "mean E", "mean N", "RMSE E", "RMSE N", "RMSE H"),
		row("all matched", a.All), row("without blunders", a.Kept),
	}
	if a.All.Up.N > 0 {
		lines = append(lines, fmt.Sprintf("Elevation of corners, %d points: mean %s, RMSE %s; without blunders %d points, RMSE %s.",
			a.All.Up.N, signed(a.All.Up.Mean), length(a.All.Up.RMSE, c.CRS.Vertical), a.Kept.Up.N, length(a.Kept.Up.RMSE, c.CRS.Vertical)))
	}
	return lines
}

// reporting is the word of the NSSDA's sentence for a unit.
func reporting(u vector.Unit) string {
	switch u {
	case vector.Metre:
		return "meters"
	case vector.Foot:
		return "feet"
	case vector.USSurveyFoot:
		return "US survey feet"
	}
	return named(u)
}

// nssda states the accuracy at 95 % in the standard's own sentence, where its
// number of points is met and it has a formula.
func nssda(c Content, a *assess.Assessment) []string {
	all := a.All
	switch {
	case a.Matched == 0:
		return []string{"No statement by this standard: there is nothing to compare."}
	case a.Matched < control.LeastPoints:
		return []string{fmt.Sprintf("No statement by this standard: it asks for %d points, and %d are matched. As an indication only, 95 %% of normal errors like these lie within %s (%s).",
			control.LeastPoints, a.Matched, length(all.Horizontal95, c.CRS.Horizontal), all.Rule)}
	case all.Rule == control.Circle:
		return []string{fmt.Sprintf("No statement by this standard: it has no formula where the smaller RMSE is below 0.6 of the larger (here %.2f). The circle around the error ellipse that holds 95 %% has a radius of %s (method of the National Geodetic Survey's data sheets).",
			float64(all.Ratio), length(all.Horizontal95, c.CRS.Horizontal))}
	}
	lines := []string{fmt.Sprintf("Tested %.3f %s horizontal accuracy at 95%% confidence level.", float64(all.Horizontal95), reporting(c.CRS.Horizontal))}
	if all.Up.N >= control.LeastPoints {
		lines = append(lines, fmt.Sprintf("Tested %.3f %s vertical accuracy at 95%% confidence level (roof edges at corners).", float64(all.Vertical95), reporting(c.CRS.Vertical)))
	}
	if len(a.Blunders) > 0 {
		lines = append(lines, fmt.Sprintf("This is over all %d matched points. Without %s named below, the horizontal value is %s.",
			a.Matched, counted(len(a.Blunders), "blunder"), length(a.Kept.Horizontal95, c.CRS.Horizontal)))
	}
	if n := len(a.Unmatched); n > 0 {
		lines = append(lines, fmt.Sprintf("%s without a corner within the matching radius: what they would have shown is not in these values.", are(n)))
	}
	if !a.Distribution.Balanced || !a.Distribution.Spaced {
		lines = append(lines, "The points do not lie as the standard recommends (see Points).")
	}
	return lines
}

// centimetres prints a length of the CRS in centimetres.
func centimetres(v control.Value, u vector.Unit) string {
	if math.IsNaN(float64(v)) {
		return "unknown"
	}
	metres := u.Metres
	if metres <= 0 {
		metres = 1
	}
	return fmt.Sprintf("%.1f cm", 100*metres*float64(v))
}

// asprs states the class. There is never a value at 95 % under this heading:
// the edition has none.
func asprs(c Content, a *assess.Assessment) []string {
	k, u := a.Class, c.CRS.Horizontal
	if a.Matched == 0 {
		return []string{"No class is claimed: there is nothing to compare."}
	}
	lines := []string{fmt.Sprintf("Fit to the check points: RMSE_H1 = %s. Survey of the check points: RMSE_H2 = %s. Product: RMSE_H = %s; with no matched point left out, %s.",
		centimetres(k.Fit, u), centimetres(k.Survey, u), centimetres(k.Product, u), centimetres(k.AllProduct, u))}
	tooFew := k.Points < k.Least
	switch {
	case k.Met && len(k.Short) == 0:
		lines = append(lines, fmt.Sprintf("This data set was tested to meet the ASPRS Positional Accuracy Standards for Digital Geospatial Data, Edition 2 (2023), for a %g-cm RMSE_H horizontal positional accuracy class. The tested horizontal accuracy was found to be RMSE_H = %s, with %d check points.",
			k.Target, centimetres(k.AllProduct, u), k.Points))
	case k.Met && len(k.Short) == 1 && tooFew:
		lines = append(lines, fmt.Sprintf("Although the standard asks for a minimum of %d check points, this test was made with only %d. The result is RMSE_H = %s against the %g-cm class asked for; with so few points it is reported and no conformity is claimed.",
			k.Least, k.Points, centimetres(k.AllProduct, u), k.Target))
	case k.Target > 0 && k.Reached > 0 && !k.Met:
		lines = append(lines, fmt.Sprintf("The %g-cm class asked for is not met.", k.Target))
	default:
		lines = append(lines, "No class is claimed.")
	}
	if len(k.Short) > 0 {
		lines = append(lines, "Short of a test by this standard: "+strings.Join(k.Short, "; ")+".")
	}
	return lines
}

func points(c Content, a *assess.Assessment) []string {
	d, u := a.Distribution, c.CRS.Horizontal
	lines := []string{fmt.Sprintf("%s given; %d test corners, %d of them matched, %d used, on %s.", counted(a.Surveyed, "surveyed point"), a.Surveyed-a.Others, a.Matched, a.Used, counted(a.Buildings, "building"))}
	if a.Others > 0 {
		lines = append(lines, fmt.Sprintf("%s in no figure above: control, used in georeferencing, on walls, or on the ground.", are(a.Others)))
	}
	if a.Used > 0 {
		lines = append(lines, fmt.Sprintf("Share of the points in the quadrants of the block, SW SE NW NE: %.0f, %.0f, %.0f, %.0f %% (20 %% each is recommended: %s).",
			100*d.Quadrants[0], 100*d.Quadrants[1], 100*d.Quadrants[2], 100*d.Quadrants[3], kept(d.Balanced)))
	}
	if a.Used > 1 {
		lines = append(lines, fmt.Sprintf("Two nearest points: %s apart (a tenth of the block's diagonal, %s, is recommended: %s).", length(d.Nearest, u), length(d.Spacing, u), kept(d.Spaced)))
	}
	lines = append(lines, clustered(c, a.Clusters)...)
	for _, f := range a.Unmatched {
		lines = append(lines, "Not matched: "+f.ControlID+": "+f.Reason+".")
	}
	return append(lines, a.Notes...)
}

func are(n int) string {
	if n == 1 {
		return "1 point is"
	}
	return fmt.Sprintf("%d points are", n)
}

func kept(yes bool) string {
	if yes {
		return "kept"
	}
	return "not kept"
}

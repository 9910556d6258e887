package main

import (
	"bytes"
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"quoin/vector"
	"quoin/vector/accuracy"
)

func sortGroups(all []group) {
	slices.SortStableFunc(all, func(a, b group) int { return cmp.Compare(a.name, b.name) })
}

// number formats a figure; "–" where there is none.
func number(format string, v float64) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return "–"
	}
	return fmt.Sprintf(format, v)
}

func percent(v float64) string { return number("%.1f", 100*v) }

func writeTables(b *bytes.Buffer, results []result) {
	seeds := groups(results, func(r result) string { return fmt.Sprint(r.Case.Seed) })
	fmt.Fprintf(b, "\n**Simulation.** %d blocks of %d composites, %d seeds at most; every figure below is of simulated clouds.\n",
		len(results), len(byComposite(results))-1, len(seeds))
	detectionTable("Detection, by spacing", "spacing", bySpacing(results)).write(b)
	detectionTable("Detection, by composite", "block", byComposite(results)).write(b)
	outlineTable("Outlines, by spacing", "spacing", bySpacing(results)).write(b)
	outlineTable("Outlines, by composite", "block", byComposite(results)).write(b)
	aimTable(results).write(b)
	matrix("Corner RMSE in spacings, shift taken off: the program's (the baseline's)", results, func(p, q accuracy.Summary) string {
		return pair("%.2f", p.Corners.ShiftedInSpacings, q.Corners.ShiftedInSpacings, p.Corners.InSpacings, q.Corners.InSpacings)
	}).write(b)
	matrix("Mean IoU: the program's (the baseline's)", results, func(p, q accuracy.Summary) string {
		return pair("%.3f", p.Shape.IoU, q.Shape.IoU, p.Shape.IoU, q.Shape.IoU)
	}).write(b)
	matrix("Buildings found / there, and false ones", results, func(p, _ accuracy.Summary) string {
		d := p.Classes[3]
		return fmt.Sprintf("%d / %d, %d", d.Completeness.Count, d.Completeness.N, d.Correctness.N-d.Correctness.Count)
	}).write(b)
	groundTable("Ground, by composite", "block", byComposite(results)).write(b)
	groundTable("Ground, by spacing", "spacing", bySpacing(results)).write(b)
	edgeTable(results).write(b)
	calibrationTable(results).write(b)
	heightTable(results).write(b)
	roofTable(results).write(b)
	wallTable(results).write(b)
	wallLineTable(results).write(b)
	reliabilityTable(results).write(b)
	costTable(results).write(b)
	writeErrors(b, results)
}

// pair formats a figure with the baseline's in brackets; the second two stand
// in where the first are not known, as on blocks too small to tell a shift.
func pair(format string, p, q, rawP, rawQ float64) string {
	if math.IsNaN(p) {
		p = rawP
	}
	if math.IsNaN(q) {
		q = rawQ
	}
	if math.IsNaN(p) && math.IsNaN(q) {
		return "–"
	}
	return number(format, p) + " (" + number(format, q) + ")"
}

func detectionTable(title, by string, all []group) *table {
	t := &table{title: title, head: []string{
		by, "blocks", "completeness % ≥ 50 m²", "10–50 m²", "6–10 m²", "correctness % ≥ 50 m²", "10–50 m²", "6–10 m²",
		"quality %", "footprints that are several buildings %", "buildings in several footprints %", "area completeness %", "area correctness %", "area quality %", "baseline area quality %",
	}}
	for _, g := range all {
		s, plain := g.summaries()
		c := s.Classes
		t.add(g.name, fmt.Sprint(s.Blocks), c[2].Completeness.String(), c[1].Completeness.String(), c[0].Completeness.String(),
			c[2].Correctness.String(), c[1].Correctness.String(), c[0].Correctness.String(), percent(c[3].Quality()),
			s.Merged.String(), s.Divided.String(), percent(s.AreaCompleteness), percent(s.AreaCorrectness), percent(s.AreaQuality), percent(plain.AreaQuality))
	}
	return t
}

func outlineTable(title, by string, all []group) *table {
	t := &table{title: title, head: []string{
		by, "pairs", "IoU", "boundary IoU", "PoLiS cm", "Hausdorff cm", "exact topology %", "corners matched %", "corners right %",
		"corner RMSE cm", "without shift cm", "without shift / s", "off > max(2 s, 10 cm) %", "same, no review reason %", "side bias mm", "bias / s", "side RMS cm", "turn °",
		"baseline IoU", "baseline RMSE / s", "baseline bias / s",
	}}
	for _, g := range all {
		s, plain := g.summaries()
		c, o := s.Corners, s.Offsets
		t.add(g.name, fmt.Sprint(s.Shape.N), number("%.3f", s.Shape.IoU), number("%.3f", s.Shape.BoundaryIoU),
			number("%.1f", 100*s.Shape.PoLiS), number("%.1f", 100*s.Shape.Hausdorff), s.Exact.String(),
			s.CornerCompleteness.String(), percent(s.CornerCorrectness.Value()),
			number("%.1f", 100*c.RMSE), number("%.1f", 100*c.Shifted), number("%.3f", c.ShiftedInSpacings), c.Gross.String(), s.GrossUnflagged.String(),
			number("%.1f", 1000*o.Bias), number("%.3f", o.BiasInSpacings), number("%.1f", 100*o.RMS), number("%.2f", o.Turn),
			number("%.3f", plain.Shape.IoU), number("%.3f", plain.Corners.ShiftedInSpacings), number("%.3f", plain.Offsets.BiasInSpacings))
	}
	return t
}

// aim returns the corner RMSE aimed at, in spacings, by points a square metre:
// 0.18 at 2, 0.14 at 4, 0.12 from 8 to below 50, and 0.10 and a centimetre from
// there on.
func aim(spacing float64) float64 {
	switch density := 1 / (spacing * spacing); {
	case density < 3:
		return 0.18
	case density < 6:
		return 0.14
	case density < 50:
		return 0.12
	}
	return 0.10 + 0.01/spacing
}

func aimTable(results []result) *table {
	t := &table{title: "Corner errors against the aims, in spacings, shift taken off", head: []string{
		"spacing", "aim, sides seen", "RMSE", "median × 1.2", "n", "baseline RMSE", "blunt corners: RMSE", "median × 1.2", "n", "baseline RMSE",
		"aim, a side hidden", "RMSE", "median × 1.2", "n", "baseline RMSE",
	}}
	const normal = 1.2
	figures := func(c, plain accuracy.CornerFigures) []string {
		return []string{
			number("%.3f", c.ShiftedInSpacings), number("%.3f", normal*c.MedianInSpacings), fmt.Sprint(c.N), number("%.3f", plain.ShiftedInSpacings),
		}
	}
	for _, g := range bySpacing(results) {
		s, plain := g.summaries()
		a := math.NaN()
		if spacing := g.results[0].Case.Spacing; !slices.ContainsFunc(g.results, func(r result) bool { return r.Case.Spacing != spacing }) {
			a = aim(spacing)
		}
		t.add(slices.Concat([]string{g.name, number("%.2f", a)}, figures(s.Seen, plain.Seen), figures(s.Blunt, plain.Blunt),
			[]string{number("%.2f", 2*a)}, figures(s.Hidden, plain.Hidden))...)
	}
	return t
}

// matrix has a row a composite and a column a spacing.
func matrix(title string, results []result, cell func(program, plain accuracy.Summary) string) *table {
	columns := bySpacing(results)
	t := &table{title: title, head: []string{"block"}}
	for _, c := range columns {
		t.head = append(t.head, c.name)
	}
	for _, g := range byComposite(results) {
		row := []string{g.name}
		spacings := bySpacing(g.results)
		for _, c := range columns {
			text := ""
			for _, s := range spacings {
				if s.name == c.name {
					text = cell(s.summaries())
				}
			}
			row = append(row, text)
		}
		t.add(row...)
	}
	return t
}

// edgeTable shows what the baseline makes of each edge length.
func edgeTable(results []result) *table {
	t := &table{title: "The baseline by the edge length of its hull: corner RMSE / s, IoU", head: []string{"spacing"}}
	for _, e := range hullEdges {
		t.head = append(t.head, fmt.Sprintf("%.1f spacings", e))
	}
	for _, g := range bySpacing(results) {
		row := []string{g.name}
		for k := range hullEdges {
			s := g.baseline(k)
			row = append(row, number("%.3f", s.Corners.ShiftedInSpacings)+", "+number("%.3f", s.Shape.IoU))
		}
		t.add(row...)
	}
	return t
}

func calibrationTable(results []result) *table {
	t := &table{title: "Stated against true errors of corners (the baseline states none)", head: []string{
		"spacing", "adjusted % of matched", "adjusted: within the 95 % ellipse %", "with the shift left in %", "mean square / 2", "median square / expected", "RMSE / s", "baseline RMSE / s",
		"extended: within the 95 % ellipse %", "mean square / 2", "RMSE / s",
	}}
	for _, g := range bySpacing(results) {
		s, plain := g.summaries()
		a, e := s.Adjusted, s.Extended
		t.add(g.name, s.AdjustedShare.String(), a.Cover.String(), percent(a.CoverRaw.Value()), number("%.2f", a.NEES), number("%.2f", a.Median),
			number("%.3f", a.ShiftedInSpacings), number("%.3f", plain.Corners.ShiftedInSpacings),
			e.Cover.String(), number("%.2f", e.NEES), number("%.3f", e.ShiftedInSpacings))
	}
	return t
}

func heightTable(results []result) *table {
	t := &table{title: "Elevations, delivered less true, in cm (the baseline gives none)", head: []string{"spacing"}}
	for _, name := range []string{"ground", "lowest ground", "highest ground", "eave", "ridge", "highest point", "corner"} {
		t.head = append(t.head, name+": n", "bias", "RMS", "largest")
	}
	for _, g := range bySpacing(results) {
		s, _ := g.summaries()
		row := []string{g.name}
		for _, e := range []accuracy.Errors{s.Ground, s.LowestGround, s.HighestGround, s.Eave, s.Ridge, s.HighestPoint, s.CornerUp} {
			row = append(row, fmt.Sprint(e.N), number("%.1f", 100*e.Bias), number("%.1f", 100*e.RMS), number("%.0f", 100*e.Most))
		}
		t.add(row...)
	}
	return t
}

func roofTable(results []result) *table {
	t := &table{title: "Types of roofs (the baseline gives none)", head: []string{"true type", "right %", "taken for others"}}
	s, _ := group{results: results}.summaries()
	names := append(vector.RoofTypes(), "none")
	for _, r := range s.Roofs {
		var others []string
		for i, n := range r.Taken {
			if n > 0 && names[i] != r.Type {
				others = append(others, fmt.Sprintf("%s %d", names[i], n))
			}
		}
		t.add(string(r.Type), r.Right.String(), strings.Join(others, ", "))
	}
	return t
}

func wallTable(results []result) *table {
	t := &table{title: "Party walls and validity", head: []string{
		"spacing", "walls told apart %", "told apart and shared to the bit %", "widest gap cm", "invalid outlines", "overlapping pairs", "baseline: overlapping pairs",
	}}
	for _, g := range bySpacing(results) {
		s, plain := g.summaries()
		t.add(g.name, s.PartyWalls.Split.String(), s.PartyWalls.Shared.String(), number("%.1f", 100*s.PartyWalls.Gap),
			fmt.Sprint(s.Invalid), fmt.Sprint(s.Overlaps), fmt.Sprint(plain.Overlaps))
	}
	return t
}

func reliabilityTable(results []result) *table {
	s, _ := group{results: results}.summaries()
	t := &table{title: "Reliability of `quality` (the baseline states none)", head: []string{"quality", "right %"}}
	for i, r := range s.Reliability {
		below := "below "
		if i == len(s.Reliability)-1 {
			below = ""
		}
		t.add(fmt.Sprintf("%.2f to %s%.2f", r.Low, below, r.High), r.Right.String())
	}
	return t
}

func costTable(results []result) *table {
	t := &table{title: "Cost, one worker a block (the baseline is not timed)", head: []string{"spacing", "points, millions", "processor seconds", "million points a second", "share of stages %"}}
	for _, g := range bySpacing(results) {
		var points, seconds float64
		var stages []stage
		for _, r := range g.results {
			points, seconds = points+float64(r.Points)/1e6, seconds+r.Seconds
			for _, s := range r.Stages {
				if i := slices.IndexFunc(stages, func(t stage) bool { return t.Name == s.Name }); i >= 0 {
					stages[i].Seconds += s.Seconds
				} else {
					stages = append(stages, s)
				}
			}
		}
		var parts []string
		whole := 0.0
		for _, s := range stages {
			whole += s.Seconds
		}
		for _, s := range stages {
			parts = append(parts, fmt.Sprintf("%s %.0f", s.Name, 100*s.Seconds/whole))
		}
		t.add(g.name, number("%.1f", points), number("%.0f", seconds), number("%.2f", points/seconds), strings.Join(parts, ", "))
	}
	return t
}

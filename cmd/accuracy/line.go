package main

import (
	"fmt"
	"io"
	"math"

	"quoin/vector/accuracy"
)

func printHead(w io.Writer) {
	fmt.Fprintln(w, "block             true found deliv false merge split |  IoU   exact | corners match extra adj% | RMSE cm    /s  noshift cm    /s | bias mm  NEES/2 cover95 | base /s   IoU | points M    s  stages")
}

// printLine prints the figures of one block. RMSE are radial, over all matched
// corners, with the block's shift and without.
func printLine(w io.Writer, r *result) {
	s, plain := group{results: []result{*r}}.summaries()
	all := s.Classes[len(s.Classes)-1]
	fmt.Fprintf(w, "%-17s %4d %5d %5d %5d %5d %5d | %.3f %5.0f%% | %7d %5d %5d %4.0f | %7.1f %.3f %11.1f %.3f | %7.0f %7.2f %7.2f | %7.3f %.3f | %6.2f %5.1f ",
		r.Case, all.Completeness.N, all.Completeness.Count, all.Correctness.N, all.Correctness.N-all.Correctness.Count,
		s.Merged.Count, s.Divided.Count, s.Shape.IoU, 100*s.Exact.Value(),
		s.CornerCompleteness.N, s.CornerCompleteness.Count, s.CornerCorrectness.N-s.CornerCorrectness.Count,
		100*s.AdjustedShare.Value(), 100*s.Corners.RMSE, s.Corners.InSpacings, 100*s.Corners.Shifted, s.Corners.ShiftedInSpacings,
		1000*s.Offsets.Bias, s.Corners.NEES, s.Corners.Cover.Value(),
		plain.Corners.InSpacings, plain.Shape.IoU, float64(r.Points)/1e6, r.Seconds)
	for _, stage := range r.Stages {
		if stage.Seconds >= 0.1 {
			fmt.Fprintf(w, " %s %.1f", stage.Name, stage.Seconds)
		}
	}
	if r.Failure != "" {
		fmt.Fprint(w, " FAILED: ", r.Failure)
	}
	fmt.Fprintln(w)
}

// printDetails lists what was missed, what is false, and the pairs that are not
// right or not exact, with the place to look at.
func printDetails(w io.Writer, results []result) {
	fmt.Fprintln(w, "\nblock             building  kind                     m²  what")
	for i := range results {
		r := &results[i]
		say := func(id, kind string, area float64, what string) {
			fmt.Fprintf(w, "%-17s %-9s %-20s %6.0f  %s\n", r.Case, id, kind, area, what)
		}
		for _, o := range r.Block.Missed() {
			c := r.Truth[o.Index].Polygon.Bound().Center()
			say(o.ID, o.Kind, o.Area, fmt.Sprintf("not found, at %.0f %.0f", c[0], c[1]))
		}
		for _, o := range r.Block.False() {
			p := r.Footprints[o.Index].Polygon
			c := p.Bound().Center()
			say(o.ID, r.thingAt(p), o.Area, fmt.Sprintf("false, quality %.2f, at %.0f %.0f", o.Quality, c[0], c[1]))
		}
		for _, p := range r.Block.Pairs {
			if p.Right && p.Exact {
				continue
			}
			f := r.Footprints[p.Delivered]
			c := f.Polygon.Bound().Center()
			far := 0.0
			for _, corner := range p.Corners {
				far = max(far, math.Hypot(corner.Delta[0], corner.Delta[1]))
			}
			say(p.ID, p.Kind, p.Area, fmt.Sprintf("IoU %.3f, to %.2f m off, corners to %.2f, %d corners missed, %d too many, right %v, quality %.2f %s, at %.0f %.0f",
				p.IoU, p.Hausdorff, far, len(p.Missing), len(p.Extra), p.Right, p.Quality, f.ReviewText(), c[0], c[1]))
		}
	}
}

// printTotals prints the pooled figures of all blocks.
func printTotals(w io.Writer, results []result) {
	var blocks []accuracy.Block
	for _, r := range results {
		blocks = append(blocks, r.Block)
	}
	s := accuracy.Summarise(blocks)
	fmt.Fprintf(w, "\n%d blocks\n", s.Blocks)
	for _, d := range s.Classes {
		fmt.Fprintf(w, "%-9s completeness %s  correctness %s\n", d.Class.Name, d.Completeness, d.Correctness)
	}
	c := s.Corners
	fmt.Fprintf(w, "area      completeness %.4f correctness %.4f quality %.4f, mean IoU %.4f\n", s.AreaCompleteness, s.AreaCorrectness, s.AreaQuality, s.Shape.IoU)
	fmt.Fprintf(w, "corners   %s matched, %s right; RMSE %.3f s, without shift %.3f s; NEES/2 %.2f, within 95 %% ellipse %s\n",
		s.CornerCompleteness, s.CornerCorrectness, c.InSpacings, c.ShiftedInSpacings, c.NEES, c.Cover)
	fmt.Fprintf(w, "adjusted  %s; RMSE without shift %.3f s; NEES/2 %.2f, within 95 %% ellipse %s\n", s.AdjustedShare, s.Adjusted.ShiftedInSpacings, s.Adjusted.NEES, s.Adjusted.Cover)
	fmt.Fprintf(w, "walls     %s found of those with %d façade returns or more, %s of the others; %s wrong, RMS of the rest %.0f mm, bias %.0f mm, within 2 sigma %s\n",
		s.Walls.Seen, accuracy.FacadeSeen, s.Walls.Few, s.Walls.Wrong, 1000*s.Walls.RMS, 1000*s.Walls.Bias, s.Walls.Within)
	fmt.Fprintf(w, "topology  exact %s; offset outward %.1f mm\n", s.Exact, 1000*s.Offsets.Bias)
	var roofs accuracy.Share
	for _, r := range s.Roofs {
		roofs.Count, roofs.N = roofs.Count+r.Right.Count, roofs.N+r.Right.N
	}
	fmt.Fprintf(w, "roofs     type right %s; RMS of ground %.3f, eave %.3f, ridge %.3f, highest point %.3f m\n",
		roofs, s.Ground.RMS, s.Eave.RMS, s.Ridge.RMS, s.HighestPoint.RMS)
}

package main

import (
	"bytes"
	"cmp"
	"context"
	"fmt"
	"io"
	"math"
	"os"
	"slices"

	"github.com/paulmach/orb"

	"quoin/cmd/accuracy/clean"
	"quoin/vector/topology"
)

// A coverage says how much of the matrix of clean labels is run.
type coverage string

const (
	noClean     coverage = "none"
	cleanSubset coverage = "subset"
	cleanFull   coverage = "full"
)

// measureClean runs the matrix of clean labels as asked, and prints a line a
// cell as they come.
func (o *options) measureClean(ctx context.Context) ([]clean.Outcome, error) {
	p := clean.Task{Jobs: o.jobs, Plain: plainHulls, Done: func(c clean.Outcome) { printCell(os.Stdout, c) }}
	switch o.clean {
	case cleanFull:
		p.Cells, p.Buildings = clean.Full(), func(clean.Cell) int { return clean.Whole }
	case cleanSubset:
		p.Cells, p.Buildings = clean.Subset(), clean.Fewer
	default:
		return nil, nil
	}
	fmt.Println("cell of clean labels                                         RMSE/bound  (>99%)  RMSE cm    /s  exact  cover  NEES/2  bias mm")
	all, err := clean.Measure(ctx, p)
	if err == nil {
		fmt.Println(cleanVerdict(all))
	}
	return all, err
}

// printCell prints the figures of one cell.
func printCell(w io.Writer, o clean.Outcome) {
	ratio, lower := o.Fit.Ratio()
	metres, spacings := o.Fit.RMSE()
	fmt.Fprintf(w, "%-60v %10.2f %7.2f %8.2f %6.3f %6.3f %6.3f %7.2f %8.1f\n", o.Cell, ratio, lower, 100*metres, spacings,
		o.Exact.Value(), o.Cover.Value(), o.Squares/float64(o.Cover.N), 1000*o.Outward/float64(o.Sides))
}

// plainHulls outlines roof points as the baseline of the blocks does, once for
// each of hullEdges.
func plainHulls(roof []orb.Point, truth orb.Polygon, spacing float64) ([]orb.Polygon, error) {
	var edges []float64
	for _, e := range hullEdges {
		edges = append(edges, e*spacing)
	}
	hulls, err := concaveHulls(nearOutline(roof, truth, spacing), edges, false)
	if err != nil {
		return nil, err
	}
	for k, hull := range hulls {
		if p := squared(hull, truth, 3*spacing); topology.Validate(p) == nil {
			hulls[k] = p
		}
	}
	return hulls, nil
}

// A pool is several cells together.
type pool struct {
	name  string
	cells []clean.Outcome
}

// pools gathers cells by a name, in the order of names' first appearance.
func pools(all []clean.Outcome, name func(clean.Cell) string) []pool {
	var out []pool
	for _, o := range all {
		key := name(o.Cell)
		i := slices.IndexFunc(out, func(p pool) bool { return p.name == key })
		if i < 0 {
			i, out = len(out), append(out, pool{name: key})
		}
		out[i].cells = append(out[i].cells, o)
	}
	return out
}

// fit is the mean square over all cells of the pool, each with its own bound:
// sums of squared errors over the bound, so that no cell rules by its size.
func (p pool) fit() (ratio float64) {
	var sum, n float64
	for _, o := range p.cells {
		if r, _ := o.Fit.Ratio(); !math.IsNaN(r) {
			sum, n = sum+r*r*float64(o.Fit.Corners), n+float64(o.Fit.Corners)
		}
	}
	return math.Sqrt(sum / n)
}

// total adds the cells up.
func (p pool) total() clean.Outcome {
	var t clean.Outcome
	for _, o := range p.cells {
		t.Fit = t.Fit.Plus(o.Fit)
		t.Exact.Count, t.Exact.N = t.Exact.Count+o.Exact.Count, t.Exact.N+o.Exact.N
		t.Cover.Count, t.Cover.N = t.Cover.Count+o.Cover.Count, t.Cover.N+o.Cover.N
		t.Squares, t.Outward, t.Sides = t.Squares+o.Squares, t.Outward+o.Outward, t.Sides+o.Sides
		if o.Plain == nil {
			continue
		}
		if t.Plain == nil {
			t.Plain = make([]clean.Tally, len(o.Plain))
		}
		for k := range o.Plain {
			t.Plain[k] = t.Plain[k].Plus(o.Plain[k])
		}
	}
	return t
}

// against compares the RMSE in spacings of the cells on which the baseline was
// run with the baseline's: at the usual edge of 1.5 spacings, and at the best.
func (p pool) against() (fit, usual, best float64) {
	compared := pool{cells: slices.DeleteFunc(slices.Clone(p.cells), func(o clean.Outcome) bool { return o.Plain == nil })}
	if len(compared.cells) == 0 {
		return math.NaN(), math.NaN(), math.NaN()
	}
	t := compared.total()
	_, fit = t.Fit.RMSE()
	best = math.Inf(1)
	for k := range t.Plain {
		_, s := t.Plain[k].RMSE()
		if k == 0 {
			usual = s
		}
		best = min(best, s)
	}
	return fit, usual, best
}

// writeClean writes the tables of the matrix of clean labels.
func writeClean(b *bytes.Buffer, all []clean.Outcome) {
	if len(all) == 0 {
		return
	}
	fmt.Fprintf(b, "\n### Clean labels: the fit against the least error possible\n\n%d cells. %s\n", len(all), cleanVerdict(all))
	sharp := slices.DeleteFunc(slices.Clone(all), func(o clean.Outcome) bool { return o.Cell.Beam > 0 })
	for _, t := range []struct {
		title string
		cells []clean.Outcome
		name  func(clean.Cell) string
	}{
		{"By density, no beam", sharp, func(c clean.Cell) string { return fmt.Sprintf("%g/m²", c.Density) }},
		{"By noise, no beam", sharp, func(c clean.Cell) string { return fmt.Sprintf("%g cm", c.Noise) }},
		{"By sampling, no beam", sharp, func(c clean.Cell) string { return string(c.Sampling) }},
		{"By half-width of the beam", all, func(c clean.Cell) string { return fmt.Sprintf("%g cm", c.Beam) }},
	} {
		cleanTable(t.title, append(pools(t.cells, t.name), pool{"**all**", t.cells})).write(b)
	}
	worstCells(all).write(b)
}

func cleanTable(title string, rows []pool) *table {
	t := &table{title: "Clean labels: " + title, head: []string{
		"", "cells", "buildings", "RMSE ÷ bound", "RMSE ÷ spacing", "cm", "exact topology %", "in the 95 % ellipse %", "mean square / 2", "bias mm",
		"where compared: RMSE ÷ spacing", "baseline, usual edge", "best edge",
	}}
	for _, p := range rows {
		o := p.total()
		metres, spacings := o.Fit.RMSE()
		fit, usual, best := p.against()
		t.add(p.name, fmt.Sprint(len(p.cells)), fmt.Sprint(o.Exact.N), number("%.2f", p.fit()), number("%.3f", spacings), number("%.2f", 100*metres),
			o.Exact.String(), percent(o.Cover.Value()), number("%.2f", o.Squares/float64(o.Cover.N)), number("%.1f", 1000*o.Outward/float64(o.Sides)),
			number("%.3f", fit), number("%.3f", usual), number("%.3f", best))
	}
	return t
}

// The aims: pooled RMSE ÷ bound without a beam, and the 99 % lower limit that
// no cell may exceed.
const cleanPooled, cleanCell = 1.15, 1.3

// cleanVerdict says in a sentence how the aims are met.
func cleanVerdict(all []clean.Outcome) string {
	sharp := pool{cells: slices.DeleteFunc(slices.Clone(all), func(o clean.Outcome) bool { return o.Cell.Beam > 0 })}
	over := 0
	for _, o := range sharp.cells {
		if _, lower := o.Fit.Ratio(); lower > cleanCell {
			over++
		}
	}
	return fmt.Sprintf("Pooled over the %d cells without a beam RMSE is %.2f of the bound (the aim is %.2f); of %d of them the 99 %% lower limit is above %.1f (the aim is none).",
		len(sharp.cells), sharp.fit(), cleanPooled, over, cleanCell)
}

// worstCells lists the cells that are farthest above their bound.
func worstCells(all []clean.Outcome) *table {
	const listed = 12
	t := &table{title: "Clean labels: cells farthest above their bound", head: []string{
		"cell", "RMSE ÷ bound", "99 % lower limit", "RMSE cm", "exact topology %", "in the 95 % ellipse %", "mean square / 2",
	}}
	sorted := slices.Clone(all)
	slices.SortStableFunc(sorted, func(a, b clean.Outcome) int {
		_, x := a.Fit.Ratio()
		_, y := b.Fit.Ratio()
		return cmp.Compare(y, x)
	})
	for _, o := range sorted[:min(listed, len(sorted))] {
		ratio, lower := o.Fit.Ratio()
		metres, _ := o.Fit.RMSE()
		t.add(o.Cell.String(), number("%.2f", ratio), number("%.2f", lower), number("%.2f", 100*metres), o.Exact.String(),
			percent(o.Cover.Value()), number("%.2f", o.Squares/float64(o.Cover.N)))
	}
	return t
}

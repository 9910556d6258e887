package main

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"strings"

	"quoin/cmd/accuracy/clean"
	"quoin/vector/accuracy"
)

// The page's generated part lies between these lines; what is around it is
// written by hand and kept.
const (
	pageBegin = "<!-- written by `make accuracy`: do not edit to the end mark -->"
	pageEnd   = "<!-- end -->"
)

// writePage replaces the generated part of the page.
func (o *options) writePage(ctx context.Context, results []result, cells []clean.Outcome) error {
	old, err := os.ReadFile(o.page)
	if err != nil && !os.IsNotExist(err) {
		return err
	}
	before, rest, found := strings.Cut(string(old), pageBegin)
	_, after, closed := strings.Cut(rest, pageEnd)
	if len(old) > 0 && !(found && closed) {
		return fmt.Errorf("%s: the lines %q and %q are not there", o.page, pageBegin, pageEnd)
	}
	var b bytes.Buffer
	b.WriteString(before + pageBegin + "\n")
	writeTables(&b, results)
	writeClean(&b, cells)
	if err := o.writeWorst(ctx, &b, results); err != nil {
		return err
	}
	b.WriteString("\n" + pageEnd + after)
	return os.WriteFile(o.page, b.Bytes(), 0o666)
}

// A group is the results of one row of a table.
type group struct {
	name    string
	results []result
}

// summaries pools the program's blocks, and the baseline's by the edge length
// that does best on the true corners of this group.
func (g group) summaries() (program, plain accuracy.Summary) {
	var a []accuracy.Block
	for _, r := range g.results {
		a = append(a, r.Block)
	}
	for k := range hullEdges {
		if s := g.baseline(k); k == 0 || s.Corners.InSpacings < plain.Corners.InSpacings {
			plain = s
		}
	}
	return accuracy.Summarise(a), plain
}

// baseline pools the baseline's blocks by one edge length.
func (g group) baseline(k int) accuracy.Summary {
	var b []accuracy.Block
	for _, r := range g.results {
		b = append(b, r.Baselines[k])
	}
	return accuracy.Summarise(b)
}

// groups gathers results by a name, in the order in which names come up.
func groups(results []result, name func(result) string) []group {
	var all []group
	index := make(map[string]int)
	for _, r := range results {
		key := name(r)
		i, known := index[key]
		if !known {
			i = len(all)
			index[key], all = i, append(all, group{name: key})
		}
		all[i].results = append(all[i].results, r)
	}
	return all
}

func bySpacing(results []result) []group {
	all := groups(results, func(r result) string { return fmt.Sprintf("%.2f m", r.Case.Spacing) })
	sortGroups(all)
	return append(all, group{"**all**", results})
}

func byComposite(results []result) []group {
	return append(groups(results, func(r result) string { return r.Case.Composite }), group{"**all**", results})
}

// A table is written in Markdown.
type table struct {
	title string
	head  []string
	rows  [][]string
}

func (t *table) add(cells ...string) { t.rows = append(t.rows, cells) }

func (t *table) write(b *bytes.Buffer) {
	fmt.Fprintf(b, "\n### %s\n\n| %s |\n|%s\n", t.title, strings.Join(t.head, " | "), strings.Repeat("---|", len(t.head)))
	for _, row := range t.rows {
		fmt.Fprintf(b, "| %s |\n", strings.Join(row, " | "))
	}
}

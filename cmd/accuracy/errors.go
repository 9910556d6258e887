package main

import (
	"bytes"
	"cmp"
	"fmt"
	"slices"

	"github.com/paulmach/orb"

	"quoin/vector/topology"
)

// writeErrors lists what was missed and what is false, by kind.
func writeErrors(b *bytes.Buffer, results []result) {
	var missed, wrong tally
	failures := &table{title: "Runs without a delivery", head: []string{"block", "what the program said"}}
	for i := range results {
		r := &results[i]
		for _, o := range r.Block.Missed() {
			missed.add(o.Kind, o.Area, r.Case)
		}
		for _, o := range r.Block.False() {
			wrong.add(r.thingAt(r.Footprints[o.Index].Polygon), o.Area, r.Case)
		}
		if r.Failure != "" {
			failures.add(r.Case.String(), r.Failure)
		}
	}
	missed.table("Buildings not found, by kind").write(b)
	wrong.table("False buildings, by what is there").write(b)
	if len(failures.rows) > 0 {
		failures.write(b)
	}
}

// thingAt names what covers most of a false outline.
func (r *result) thingAt(p orb.Polygon) string {
	best, most := "none of the things listed (vegetation, ground or part of a building)", 0.0
	for _, t := range r.Things {
		common, err := topology.Intersection(t.Polygon, p)
		if err != nil {
			continue
		}
		area := 0.0
		for _, c := range common {
			area += topology.Area(c)
		}
		if area > most {
			best, most = t.Kind, area
		}
	}
	return best
}

// A tally counts objects by kind.
type tally []tallied

type tallied struct {
	kind    string
	n       int
	largest float64
	where   blockCase
}

func (t *tally) add(kind string, area float64, where blockCase) {
	i := slices.IndexFunc(*t, func(k tallied) bool { return k.kind == kind })
	if i < 0 {
		i = len(*t)
		*t = append(*t, tallied{kind: kind})
	}
	k := &(*t)[i]
	k.n++
	if area > k.largest {
		k.largest, k.where = area, where
	}
}

func (t tally) table(title string) *table {
	out := &table{title: title, head: []string{"kind", "n", "largest m²", "where"}}
	slices.SortStableFunc(t, func(a, b tallied) int { return cmp.Compare(b.n, a.n) })
	for _, k := range t {
		out.add(k.kind, fmt.Sprint(k.n), number("%.0f", k.largest), k.where.String())
	}
	if len(t) == 0 {
		out.add("none", "0", "–", "–")
	}
	return out
}

package main

import (
	"context"
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"quoin/vector"
	"quoin/vector/accuracy"
	"quoin/vector/gpkg"
)

const (
	// facadeReach is how far from a true wall line its returns lie, in metres.
	facadeReach = 0.2
	// facadeEnds are left out at both ends of a wall, in metres or as a quarter
	// of its length: which of two walls gave a return at their corner does
	// not tell.
	facadeEnds = 0.75
	// facadeFoot and facadeTop are left out above the ground and below the eave.
	facadeFoot, facadeTop = 0.3, 0.3
)

// countFacades fills in how many returns each side of the true wall lines gave.
func countFacades(ctx context.Context, dir string, truth []accuracy.Building) error {
	owner := newOwners(truth)
	for i := range truth {
		for _, ring := range truth[i].Walls {
			for range len(ring) - 1 {
				truth[i].Facades = append(truth[i].Facades, 0)
			}
		}
	}
	points, err := readPoints(ctx, dir, func(p orb.Point, class uint8) bool {
		return class == classFacade && owner.of(p) >= 0
	})
	if err != nil {
		return err
	}
	for _, p := range points {
		b := &truth[owner.of(p.at)]
		if z := float64(p.z); z > b.Ground+facadeFoot && z < b.Eave-facadeTop {
			countFacade(b, p.at)
		}
	}
	return nil
}

// countFacade counts a return for the side of the wall line that it is on.
func countFacade(b *accuracy.Building, p orb.Point) {
	k := 0
	for _, ring := range b.Walls {
		for i := range len(ring) - 1 {
			from, to := ring[i], ring[i+1]
			l := math.Hypot(to[0]-from[0], to[1]-from[1])
			ends := min(facadeEnds, l/4)
			dx, dy := p[0]-from[0], p[1]-from[1]
			along := (dx*(to[0]-from[0]) + dy*(to[1]-from[1])) / l
			across := (dx*(to[1]-from[1]) - dy*(to[0]-from[0])) / l
			if along > ends && along < l-ends && math.Abs(across) < facadeReach {
				b.Facades[k]++
			}
			k++
		}
	}
}

// readSides reads the layer sides into the footprints.
func readSides(path string, byID map[string]*vector.Footprint) error {
	set, err := gpkg.ReadSet(path)
	if err != nil {
		return err
	}
	for _, t := range set.Tables {
		if t.Layer.Name != "sides" {
			continue
		}
		column := make(map[string]int)
		for i, c := range t.Layer.Columns {
			column[c.Name] = i
		}
		for _, row := range t.Rows {
			line, isLine := row.Geometry.(orb.LineString)
			id, _ := row.Values[column["building_id"]].(string)
			f := byID[id]
			if !isLine || len(line) != 2 || f == nil {
				return fmt.Errorf("%s: a side of %q is no edge of a footprint", path, id)
			}
			f.Sides = append(f.Sides, vector.Side{
				From: line[0], To: line[1],
				Overhang: measured(row.Values[column["overhang"]]), SigmaOverhang: measured(row.Values[column["sigma_overhang"]]),
			})
		}
	}
	return nil
}

// measured returns a number of a row; NaN where it is null.
func measured(v any) float64 {
	if f, ok := v.(float64); ok {
		return f
	}
	return math.NaN()
}

// wallLineTable shows what the layer sides says of the walls beneath the roof
// edges.
func wallLineTable(results []result) *table {
	t := &table{title: "Wall lines beneath the eaves (the baseline states none)", head: []string{
		"spacing", fmt.Sprintf("stated, of walls with %d façade returns or more %%", accuracy.FacadeSeen), "of the others %",
		"wrong by over 0.3 m %", "RMS of the rest mm", "bias outward mm", "within 2 sigma %",
	}}
	for _, g := range bySpacing(results) {
		s, _ := g.summaries()
		w := s.Walls
		t.add(g.name, w.Seen.String(), w.Few.String(), w.Wrong.String(), number("%.0f", 1000*w.RMS), number("%.1f", 1000*w.Bias), w.Within.String())
	}
	return t
}

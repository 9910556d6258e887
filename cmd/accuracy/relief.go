package main

import (
	"fmt"

	"quoin/vector/accuracy"
)

// relief pools the terrain of a group's blocks.
func (g group) relief() relief {
	all := relief{Taken: make(map[uint8]accuracy.Share), Roofs: make([]accuracy.Share, len(widthClasses()))}
	for _, r := range g.results {
		if r.Relief == nil {
			continue
		}
		all.Points, all.Biased = all.Points.Plus(r.Relief.Points), all.Biased.Plus(r.Relief.Biased)
		all.Under.Pool(r.Relief.Under)
		all.Open.Pool(r.Relief.Open)
		for class, s := range r.Relief.Taken {
			all.Taken[class] = all.Taken[class].Plus(s)
		}
		for i, s := range r.Relief.Roofs {
			all.Roofs[i] = all.Roofs[i].Plus(s)
		}
	}
	return all
}

// taken returns the share of points of some true classes taken for ground, in
// per cent.
func (r relief) taken(classes ...uint8) string {
	var s accuracy.Share
	for _, c := range classes {
		s = s.Plus(r.Taken[c])
	}
	return number("%.2f", 100*s.Value())
}

// groundTable says which points were taken for ground and how far the surface
// is off.
func groundTable(title, by string, all []group) *table {
	t := &table{title: title, head: []string{by, "points", "Type I %", "Type II %", "total %", "kappa %"}}
	low := 0.0
	for _, w := range widthClasses() {
		t.head = append(t.head, fmt.Sprintf("roofs of %.0f–%.0f m, as ground %%", low, w))
		low = w
	}
	t.head = append(t.head, "façades %", "vehicles %", "plants below 2 m %", "trees %", "bridge decks %",
		"surface under roofs: bias m", "95 % within m", "buildings off by more than 0.15 m %", "elsewhere: bias m", "RMS m")
	for _, g := range all {
		r := g.relief()
		row := []string{
			g.name, fmt.Sprint(r.Points.N()), number("%.2f", 100*r.Points.TypeI()), number("%.2f", 100*r.Points.TypeII()),
			number("%.2f", 100*r.Points.Total()), number("%.1f", 100*r.Points.Kappa()),
		}
		for _, s := range r.Roofs {
			row = append(row, number("%.3f", 100*s.Value()))
		}
		row = append(row, r.taken(classFacade), r.taken(classVehicle), r.taken(3, 4), r.taken(5), r.taken(classDeck),
			number("%.3f", r.Under.Bias()), number("%.2f", r.Under.Within(0.95)), percent(r.Biased.Value()),
			number("%.3f", r.Open.Bias()), number("%.3f", r.Open.RMS()))
		t.add(row...)
	}
	return t
}

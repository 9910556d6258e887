package house

import (
	"cmp"
	"slices"

	"quoin/extract/scene/solid"
)

// pieces cuts a region, holes and all, into convex pieces: the trapezoids
// between the levels of its vertices. Adjacent pieces share their border
// exactly.
func pieces(r Region) [][]solid.Point {
	var levels []float64
	for _, ring := range r {
		for _, p := range ring {
			levels = append(levels, p.Y)
		}
	}
	slices.Sort(levels)
	var all [][]solid.Point
	const thin = 1e-9 // metres: a thinner slab is rounding
	for i := 1; i < len(levels); i++ {
		if levels[i]-levels[i-1] > thin {
			all = append(all, slab(r, levels[i-1], levels[i])...)
		}
	}
	return all
}

// slab returns the trapezoids of the region between two levels, which have no
// vertex between them.
func slab(r Region, low, high float64) [][]solid.Point {
	type crossing struct{ bottom, top float64 }
	var cuts []crossing
	middle := (low + high) / 2
	for _, ring := range r {
		for i, a := range ring {
			b := ring[(i+1)%len(ring)]
			if (a.Y > middle) == (b.Y > middle) {
				continue
			}
			at := func(y float64) float64 { return a.X + (y-a.Y)/(b.Y-a.Y)*(b.X-a.X) }
			cuts = append(cuts, crossing{at(low), at(high)})
		}
	}
	slices.SortFunc(cuts, func(p, q crossing) int { return cmp.Compare(p.bottom+p.top, q.bottom+q.top) })
	var all [][]solid.Point
	for i := 0; i+1 < len(cuts); i += 2 {
		l, r := cuts[i], cuts[i+1]
		plan := []solid.Point{{X: l.bottom, Y: low}, {X: r.bottom, Y: low}, {X: r.top, Y: high}, {X: l.top, Y: high}}
		all = append(all, distinct(plan))
	}
	return all
}

// distinct drops points that repeat their predecessor, as a trapezoid's do
// where it ends in a point.
func distinct(plan []solid.Point) []solid.Point {
	var kept []solid.Point
	for i, p := range plan {
		if p.Sub(plan[(i+len(plan)-1)%len(plan)]).Length() > 1e-9 {
			kept = append(kept, p)
		}
	}
	return kept
}

package extract

import (
	"math"

	"quoin/extract/cloud"
	"quoin/extract/outline"
)

// openShare is the share of pulses well inside an outline that went through
// the roof from which it counts as open: a canopy with gaps, a pergola, glass.
// Skylights and mislabelled returns stay below it.
const openShare = 0.15

// open reports whether pulses went through a roof: those whose rays passed its
// height well inside the outline. Returns below the roof are no sign of it by
// themselves, as slanting rays end under the eaves of any house.
func open(obs []outline.Observation, rings []outline.Ring, m cloud.Measures) bool {
	deep := max(0.5, 3*m.Spacing)
	var through, stopped int
	for _, o := range obs {
		if o.Side == outline.Unknown || !inside(rings, o.X, o.Y) || edgeDistance(rings, o.X, o.Y) < deep {
			continue
		}
		if o.Side == outline.Outside {
			through++
		} else {
			stopped++
		}
	}
	return float64(through) > openShare*float64(through+stopped)
}

// inside reports whether a place lies within the rings, holes taken out, by
// the parity of crossings.
func inside(rings []outline.Ring, x, y float64) bool {
	in := false
	for _, ring := range rings {
		for i, a := range ring.Vertices {
			b := ring.Vertices[(i+1)%len(ring.Vertices)]
			if (a.Y > y) != (b.Y > y) && x < a.X+(y-a.Y)/(b.Y-a.Y)*(b.X-a.X) {
				in = !in
			}
		}
	}
	return in
}

// edgeDistance returns the distance from a place to the nearest edge.
func edgeDistance(rings []outline.Ring, x, y float64) float64 {
	best := math.Inf(1)
	for _, ring := range rings {
		for i, a := range ring.Vertices {
			b := ring.Vertices[(i+1)%len(ring.Vertices)]
			dx, dy := b.X-a.X, b.Y-a.Y
			f := min(max(((x-a.X)*dx+(y-a.Y)*dy)/(dx*dx+dy*dy), 0), 1)
			best = min(best, math.Hypot(a.X+f*dx-x, a.Y+f*dy-y))
		}
	}
	return best
}

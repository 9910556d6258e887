package imagecheck

import "math"

// sharedEdges reports which edges have another building on their other side, as
// party walls have. Roofs may run on across them, so that the image shows nothing
// there, or the wrong thing.
func sharedEdges(edges []Edge, f frame) []bool {
	const (
		spacing = 1.0  // metres between the places that are looked at
		beside  = 0.5  // metres from the other's edge
		along   = 0.1  // sine of the angle between both
		share   = 0.25 // of the places
	)
	type place struct {
		at, direction vec
		building      string
	}
	cells := map[[2]int][]place{}
	cell := func(p vec) [2]int { return [2]int{int(math.Floor(p.x)), int(math.Floor(p.y))} }
	places := make([][]place, len(edges))
	for i, e := range edges {
		a, b := f.local(e.From), f.local(e.To)
		d := b.sub(a)
		n := min(int(d.length()/spacing)+1, 10_000)
		for k := range n {
			p := place{a.add(d.mul((float64(k) + 0.5) / float64(n))), d.mul(1 / d.length()), e.Building}
			places[i] = append(places[i], p)
			cells[cell(p.at)] = append(cells[cell(p.at)], p)
		}
	}
	touched := func(p place) bool {
		c := cell(p.at)
		for dx := -1; dx <= 1; dx++ {
			for dy := -1; dy <= 1; dy++ {
				for _, q := range cells[[2]int{c[0] + dx, c[1] + dy}] {
					d := q.at.sub(p.at)
					if q.building != p.building && math.Abs(q.direction.cross(p.direction)) < along &&
						math.Abs(d.cross(p.direction)) < beside && math.Abs(d.dot(p.direction)) < spacing {
						return true
					}
				}
			}
		}
		return false
	}
	shared := make([]bool, len(edges))
	for i := range edges {
		n := 0
		for _, p := range places[i] {
			if touched(p) {
				n++
			}
		}
		shared[i] = float64(n) > share*float64(len(places[i]))
	}
	return shared
}

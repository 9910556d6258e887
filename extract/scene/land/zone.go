package land

import (
	"math"

	"quoin/extract/scene/house"
	"quoin/extract/scene/solid"
)

// A zone is a region with its bounds, which most questions end at.
type zone struct {
	region    house.Region
	low, high solid.Point
}

func zoneOf(r house.Region) zone {
	low, high := r.Bounds()
	return zone{r, low, high}
}

// holds reports whether p is in the zone.
func (z *zone) holds(p solid.Point) bool {
	return p.X >= z.low.X && p.X <= z.high.X && p.Y >= z.low.Y && p.Y <= z.high.Y && z.region.Contains(p)
}

// distance returns how far p is outside the zone; 0 inside. Beyond the limit it
// may be any number that is not below it.
func (z *zone) distance(p solid.Point, limit float64) float64 {
	aside, beyond := max(z.low.X-p.X, 0, p.X-z.high.X), max(z.low.Y-p.Y, 0, p.Y-z.high.Y)
	if aside >= limit || beyond >= limit {
		return max(aside, beyond)
	}
	r := z.region
	if r.Contains(p) {
		return 0
	}
	best := math.Inf(1)
	for _, ring := range r {
		for i, a := range ring {
			d := ring[(i+1)%len(ring)].Sub(a)
			u := min(max(p.Sub(a).Dot(d)/d.Dot(d), 0), 1)
			best = min(best, p.Sub(a.Add(d.Scale(u))).Length())
		}
	}
	return best
}

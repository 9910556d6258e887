package scene

import (
	"math"

	"quoin/extract/scene/house"
	"quoin/extract/scene/solid"
)

// seen reports whether an object is what one sees at p from straight above:
// neither leaves that stop most of the light nor another thing is over it.
func (s *Scene) seen(p solid.Point, object int) bool {
	const high, opaque = 300, 0.7 // metres above; optical depth that half the light gets through
	r := solid.Ray{Origin: p.Up(s.World.Terrain.Elevation(p) + high), Dir: solid.Vec{Z: -1}}
	hit, ok := s.World.Look(r, opaque, high+50)
	return ok && hit.Object == int32(object)
}

// inwards returns the place a distance inside the region's corner p, along the
// bisector; for a place on a side, along its normal.
func inwards(r house.Region, p solid.Point, by float64) solid.Point {
	for k := range 16 {
		sin, cos := math.Sincos(2 * math.Pi * (float64(k) + 0.5) / 16)
		step := solid.Point{X: cos, Y: sin}.Scale(by)
		q := p.Add(step)
		if r.Contains(q) && distanceToEdge(r, q) > 0.35*by {
			return q
		}
	}
	return p
}

// distanceToEdge returns the distance of q from the nearest side.
func distanceToEdge(r house.Region, q solid.Point) float64 {
	best := math.Inf(1)
	for _, ring := range r {
		for i, a := range ring {
			d := ring[(i+1)%len(ring)].Sub(a)
			u := min(max(q.Sub(a).Dot(d)/d.Dot(d), 0), 1)
			best = min(best, q.Sub(a.Add(d.Scale(u))).Length())
		}
	}
	return best
}

// visible returns, for each side of each ring, the share of the side just
// inside which the building itself is seen from above.
func (s *Scene) visible(b *house.Building, object int) [][]float64 {
	const step, inside = 0.1, 0.05
	var all [][]float64
	for _, ring := range b.RoofEdge {
		shares := make([]float64, len(ring))
		for i, p := range ring {
			d := ring[(i+1)%len(ring)].Sub(p)
			in := solid.Point{X: -d.Y, Y: d.X}.Scale(inside / d.Length())
			n := max(1, int(d.Length()/step))
			count := 0
			for k := range n {
				if s.seen(p.Add(d.Scale((float64(k)+0.5)/float64(n))).Add(in), object) {
					count++
				}
			}
			shares[i] = float64(count) / float64(n)
		}
		all = append(all, shares)
	}
	return all
}

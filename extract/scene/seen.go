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
	const inside = -0.05
	return s.shares(b.RoofEdge, inside, func(p solid.Point) bool { return s.seen(p, object) })
}

// groundSeen returns, for each side of each ring, the share of the side beside
// which the ground is in sight of a flight line. Where it is not, the edge is
// known from the roof's points only.
func (s *Scene) groundSeen(b *house.Building) [][]float64 {
	const beside = 0.3
	return s.shares(b.RoofEdge, beside, s.inSight)
}

// shares walks along the sides, a distance outside them, and returns the share
// of places at which a question is answered yes.
func (s *Scene) shares(r house.Region, outside float64, ask func(solid.Point) bool) [][]float64 {
	const step = 0.1
	all := make([][]float64, len(r))
	for k, ring := range r {
		all[k] = make([]float64, len(ring))
		for i, p := range ring {
			d := ring[(i+1)%len(ring)].Sub(p)
			out := solid.Point{X: d.Y, Y: -d.X}.Scale(outside / d.Length())
			n := max(1, int(d.Length()/step))
			for j := range n {
				if ask(p.Add(d.Scale((float64(j) + 0.5) / float64(n))).Add(out)) {
					all[k][i] += 1 / float64(n)
				}
			}
		}
	}
	return all
}

// inSight reports whether a flight line passes where it sees the ground at p,
// square to its track.
func (s *Scene) inSight(p solid.Point) bool {
	const above, opaque = 0.05, 0.7
	from := p.Up(s.World.Terrain.Elevation(p) + above)
	for _, l := range s.Plan.Lines {
		along := solid.Point{X: math.Cos(l.Heading), Y: math.Sin(l.Heading)}
		u := p.Sub(l.From).Dot(along)
		to := l.From.Add(along.Scale(u)).Up(s.Plan.Elevation).Sub(from)
		distance := to.Length()
		if u < 0 || u > l.Length || to.Z < distance*math.Cos(s.Plan.Scanner.FieldOfView/2) {
			continue
		}
		if _, hidden := s.World.Look(solid.Ray{Origin: from, Dir: to.Scale(1 / distance)}, opaque, distance); !hidden {
			return true
		}
	}
	return false
}

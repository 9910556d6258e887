package camera

import (
	"math"

	"quoin/extract/scene/light"
	"quoin/extract/scene/solid"
)

// A Camera looks at a world. It does not change and is safe for concurrent use.
type Camera struct {
	World *solid.World
	Sun   light.Sun
	// Nadirs are the places that the camera was over; none of them makes a
	// true-ortho, else each place is taken from the nearest one.
	Nadirs []solid.Point
	// Elevation is that of the camera in metres, where there are nadirs.
	Elevation float64
}

// A sample is what is seen along one ray: the colour from 0 to 255, and a kind
// that differs between two sides of an edge.
type sample struct {
	colour  [3]float64
	kind    uint32
	foliage bool
}

// look returns what the image shows at a place of the map.
func (c *Camera) look(p solid.Point, buffer []int32) (sample, []int32) {
	const high, opaque = 300, 0.7 // metres above the ground; optical depth that half the light gets through
	from := p.Up(c.World.Terrain.Elevation(p) + high)
	direction, limit := solid.Vec{Z: -1}, high+50.0
	if len(c.Nadirs) > 0 {
		// The map shows at p what was on the ray through the terrain there.
		from = c.nadir(p).Up(c.Elevation)
		to := p.Up(c.World.Terrain.Elevation(p)).Sub(from)
		direction, limit = to.Unit(), to.Length()+5
	}
	r := solid.Ray{Origin: from, Dir: direction}
	buffer = c.World.Gather(r, 0, limit, buffer[:0])
	hit, ok := c.World.Cast(r, buffer, opaque, limit)
	if !ok {
		return sample{}, buffer
	}
	bright, lit := c.Sun.Brightness(c.World, hit, r.At(hit.T))
	f := hit.Surface
	s := sample{foliage: light.Foliage(hit), kind: uint32(hit.Object+2)<<1 ^ uint32(f.Red)<<24 ^ uint32(f.Green)<<16 ^ uint32(f.Blue)<<8}
	if lit {
		s.kind ^= 1
	}
	for i, v := range [3]uint8{f.Red, f.Green, f.Blue} {
		s.colour[i] = float64(v) * bright
	}
	return s, buffer
}

// nadir returns the nearest of the nadirs.
func (c *Camera) nadir(p solid.Point) solid.Point {
	best, least := c.Nadirs[0], math.Inf(1)
	for _, n := range c.Nadirs {
		if d := p.Sub(n).Length(); d < least {
			best, least = n, d
		}
	}
	return best
}

package solid

import "math"

// A World is terrain with bodies on it. It does not change once made, and is
// safe for concurrent use.
type World struct {
	Terrain *Grid
	Bodies  []Body
	nodes   []node
	order   []int32 // body numbers, leaf by leaf
}

// NewWorld returns a world ready for rays. It keeps both arguments.
func NewWorld(terrain *Grid, bodies []Body) *World {
	w := &World{Terrain: terrain, Bodies: bodies}
	w.build()
	return w
}

// Gather appends to found the numbers of the bodies that a beam may touch
// before distance limit: those whose boxes come within radius of the ray.
func (w *World) Gather(r Ray, radius, limit float64, found []int32) []int32 {
	if len(w.nodes) == 0 {
		return found
	}
	inverse := Vec{1 / r.Dir.X, 1 / r.Dir.Y, 1 / r.Dir.Z}
	var stack [64]int32
	depth := 1
	for depth > 0 {
		depth--
		n := &w.nodes[stack[depth]]
		if !n.box.near(r.Origin, inverse, radius, limit) {
			continue
		}
		if n.count == 0 {
			stack[depth], stack[depth+1] = n.first, n.first+1
			depth += 2
			continue
		}
		for _, body := range w.order[n.first : n.first+n.count] {
			if w.Bodies[body].Box.near(r.Origin, inverse, radius, limit) {
				found = append(found, body)
			}
		}
	}
	return found
}

// near reports whether the ray passes the box, grown by radius, before limit.
func (b *Box) near(o, inverse Vec, radius, limit float64) bool {
	in, out := 0.0, limit
	in, out = slab(b.Min.X-radius-o.X, b.Max.X+radius-o.X, inverse.X, in, out)
	in, out = slab(b.Min.Y-radius-o.Y, b.Max.Y+radius-o.Y, inverse.Y, in, out)
	in, out = slab(b.Min.Z-radius-o.Z, b.Max.Z+radius-o.Z, inverse.Z, in, out)
	return in <= out
}

func slab(low, high, inverse, in, out float64) (float64, float64) {
	if math.IsInf(inverse, 0) {
		if low > 0 || high < 0 {
			return 1, 0
		}
		return in, out
	}
	a, b := low*inverse, high*inverse
	if a > b {
		a, b = b, a
	}
	return max(in, a), min(out, b)
}

// Cast returns the first thing a ray meets among the terrain and the given
// bodies before distance limit. depth is the optical depth at which foliage
// stops this ray, exponentially distributed with mean 1 over the rays of a
// beam.
func (w *World) Cast(r Ray, bodies []int32, depth, limit float64) (Hit, bool) {
	var hit Hit
	ok := false
	for _, i := range bodies {
		if h, met := w.Bodies[i].meet(r, depth, limit); met {
			hit, ok, limit = h, true, h.T
		}
	}
	// The terrain last: where a body is in front, its walk ends early.
	if h, met := w.Terrain.meet(r, limit); met && h.T < limit {
		return h, true
	}
	return hit, ok
}

// Look gathers and casts a single thin ray.
func (w *World) Look(r Ray, depth, limit float64) (Hit, bool) {
	return w.Cast(r, w.Gather(r, 0, limit, nil), depth, limit)
}

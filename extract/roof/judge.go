package roof

import (
	"math"

	"quoin/vector"
)

// narrowest is the width, in metres, below which something is a wall, a fence
// or a hedge and no building.
const narrowest = 1.3

// A long thing of less than this width and height, in metres, is a clipped
// hedge or a wall rather than a shed: what is seen of it from above is as
// smooth as a roof.
const (
	hedgeWidth  = 2.5
	hedgeHeight = 2.8
	hedgeLength = 8.0
)

// stripLike reports whether something is long and narrow, straight or not, and
// no higher than a hedge, or too narrow for any building.
func (s *segmenter) stripLike(p *profile) bool {
	low := p.height < hedgeHeight
	if w := p.box.width; low && w < hedgeWidth && p.box.length > 3.5*w {
		return true
	}
	width := p.area / (float64(len(p.edge)) * s.grid.Cell / 2) // both long sides are edge
	bent := p.area < 0.6*p.box.width*p.box.length
	return bent && p.area/width > hedgeLength && (low && width < hedgeWidth || width < narrowest)
}

// What is pitched and no higher than this, in metres, in its middle and along nearly
// half its edge is a heap whose flanks are not seen: no door fits in.
const (
	heapHeight = 2.2
	heapEave   = 1.2
)

// verdict returns the reason why a building is held back, or "".
func (s *segmenter) verdict(p *profile) vector.Reason {
	width, length := p.box.width, p.box.length
	switch {
	case p.bridge:
		return vector.HeldBridge
	case p.mound, p.height < heapHeight && p.eave < heapEave && p.tilt > tentLevel:
		return vector.HeldMound
	case s.foliage(p):
		return vector.HeldVegetation
	case p.height < s.options.MinHeight && width < vehicleWidth && width > vehicleNarrow && length < carLength+0.7:
		return vector.HeldVehicle
	case p.height < s.options.MinHeight:
		return vector.HeldLow
	case p.thin, width < narrowest, s.stripLike(p) && !s.vehicleLike(p):
		return vector.HeldNarrow
	case p.area < s.options.MinArea*(1-areaDoubt(len(p.points))):
		return vector.HeldSmall
	case p.vehicle && !s.options.KeepVehicleLike:
		return vector.ReviewVehicleLike
	case tentLike(p) && !s.options.KeepTentLike:
		return vector.ReviewTentLike
	}
	return ""
}

// areaDoubt is the relative uncertainty of an area told by so many points: a
// standard deviation of their number, taken off by what their rectangle tells.
func areaDoubt(points int) float64 { return max(0.08, 0.6/math.Sqrt(float64(points))) }

// foliage reports whether what looks like a building is made of leaves: pulses
// are stopped at several heights, much lies off the surfaces, or those are
// rougher than any roof. Clipped hedges are smooth, but not as smooth as roofs.
func (s *segmenter) foliage(p *profile) bool {
	rough := p.rough > max(1.45*s.limits.sigmaZ, 0.033)
	switch {
	case p.solid < 0.55, p.multi > 0.35 && !(p.solid > 0.85 && !rough), pierced(p):
		return true
	case p.height < lowFoliage:
		return rough && p.solid < 0.94 || p.solid < throughSolid && p.through > throughLow
	}
	return rough && p.solid < 0.8
}

// throughLeast is the share of pulses that go on well inside the edge from which
// something is made of leaves, and throughBeside how much more are allowed where
// leaves touch all of its edge, for some of those count to it. Roofs of tiles and of
// metal come to a twentieth, with chimneys and steps.
const (
	throughLeast  = 0.15
	throughBeside = 0.2
	// What is low and has much about it besides is a hedge from fewer.
	throughLow   = 0.04
	throughSolid = 0.75
)

// pierced reports whether pulses go on inside something and end above the
// ground. Those through glass or mesh reach the floor.
func pierced(p *profile) bool {
	return p.through > throughLeast+throughBeside*p.vegetation && p.penetration < 0.1
}

// lowFoliage is the height, in metres, up to which hedges are clipped.
const lowFoliage = 3.5

// A box is the smallest rectangle about a set of places.
//
// (dx, dy) is the direction of its longer sides, (x, y) its middle.
type box struct{ width, length, dx, dy, x, y float64 }

// grown returns the area of the rectangle that n places were spread over: on
// average its sides lie as far beyond the outermost places as these lie apart
// along the normal (algorithm: the end of a uniform distribution).
func (b box) grown(n float64) float64 {
	return b.width * b.length * (1 + 2/n) * (1 + 2/n)
}

// smallestBox returns the smallest rectangle about places by area: one of its
// sides lies along a side of the convex hull (Freeman & Shapira 1975,
// Communications of the ACM 18, 409–413).
func smallestBox(places [][2]float64) box {
	hull := convexHull(places)
	best := box{}
	area := math.Inf(1)
	for i, a := range hull {
		b := hull[(i+1)%len(hull)]
		dx, dy := b[0]-a[0], b[1]-a[1]
		d := math.Hypot(dx, dy)
		if d == 0 {
			continue
		}
		dx, dy = dx/d, dy/d
		lo, hi, top := math.Inf(1), math.Inf(-1), 0.0
		for _, p := range hull {
			u := (p[0]-a[0])*dx + (p[1]-a[1])*dy
			v := (p[1]-a[1])*dx - (p[0]-a[0])*dy
			lo, hi, top = min(lo, u), max(hi, u), max(top, v)
		}
		if w, l := min(hi-lo, top), max(hi-lo, top); w*l < area {
			u, v := (lo+hi)/2, top/2
			area, best = w*l, box{w, l, dx, dy, a[0] + u*dx - v*dy, a[1] + u*dy + v*dx}
			if top > hi-lo {
				best.dx, best.dy = -dy, dx
			}
		}
	}
	return best
}

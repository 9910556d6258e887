package roof

import (
	"math"

	"quoin/vector"
)

// HeldMound is a smooth surface that runs down to the ground all around, as a
// stockpile does.
const HeldMound vector.Reason = "mound"

// Sizes of road vehicles and containers in metres: Council Directive 96/53/EC
// limits width to 2.55 m (2.60 m refrigerated), height to 4 m and a truck with
// trailer to 18.75 m; ISO 668 containers are 2.438 m wide and up to 2.9 m high.
// Trim, mirrors and noise widen what is seen.
const (
	vehicleWidth  = 2.75
	vehicleNarrow = 1.6
	vehicleLength = 19.5
	vehicleShort  = 3.6
	vehicleHeight = 4.4
)

// narrowest is the width, in metres, below which something is a wall, a fence
// or a hedge and no building.
const narrowest = 1.3

// A long thing of less than this width and height, in metres, is a clipped
// hedge or a wall rather than a shed.
const (
	hedgeWidth  = 1.9
	hedgeHeight = 2.6
)

// verdict returns the reason why a building is held back, or "".
func (s *segmenter) verdict(p *profile) vector.Reason {
	width, length := p.box.width, p.box.length
	flat := p.tilt < 0.09 && p.spread < 0.6 // 5 degrees
	switch {
	case p.bridge:
		return vector.HeldBridge
	case p.mound:
		return HeldMound
	case p.multi > 0.35 || p.solid < 0.55:
		return vector.HeldVegetation
	case p.height < s.options.MinHeight && width < vehicleWidth && width > vehicleNarrow && length < 6.5:
		return vector.HeldVehicle
	case p.height < s.options.MinHeight:
		return vector.HeldLow
	case p.thin || width < narrowest, width < hedgeWidth && length > 3*width && p.height < hedgeHeight:
		return vector.HeldNarrow
	case p.area < 0.92*s.options.MinArea:
		return vector.HeldSmall
	case vehicleLike(p, flat) && !s.options.KeepVehicleLike:
		return vector.ReviewVehicleLike
	case len(p.points) < least:
		return vector.HeldSparse
	}
	return ""
}

// vehicleLike reports whether something has the size and the flat top of a
// van, a truck or a container. A garage is wider, a shed shorter.
func vehicleLike(p *profile, flat bool) bool {
	w, l := p.box.width, p.box.length
	return flat && w > vehicleNarrow && w < vehicleWidth && l > vehicleShort && l < vehicleLength &&
		l > 1.7*w && p.height < vehicleHeight && p.area > 0.75*w*l
}

// A box is the smallest rectangle about a set of places.
type box struct{ width, length float64 }

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
			area, best = w*l, box{w, l}
		}
	}
	return best
}

package roof

import (
	"math"
	"slices"
)

// Sizes of road vehicles in metres: Council Directive 96/53/EC limits width to
// 2.55 m (2.60 m refrigerated), height to 4 m and a truck with trailer to
// 18.75 m. Trim, mirrors and noise widen what is seen.
const (
	vehicleWidth  = 2.75
	vehicleNarrow = 1.6
	vehicleLength = 19.5
	vehicleShort  = 3.6
	vehicleHeight = 5.9 // two containers on top of each other
	carLength     = 5.8 // what is longer is no car
	truckShort    = 5.0 // what is longer may be a truck with its cab
	truckWidth    = 2.25
	cabStep       = 1.6 // between the roofs of a cab and of what it pulls
	cabLength     = 3.0
	hitch         = 1.5 // between a cab and what it pulls
)

// level is the mean gradient up to which a roof counts as flat: 5 degrees.
const level = 0.09

// findVehicles marks what has the size of a vehicle or of containers, then the
// cabs in front of what it marked.
func (s *segmenter) findVehicles(list []profile) {
	for b := range list {
		if p := &list[b]; len(p.points) > 0 {
			p.vehicle = s.vehicleLike(p) || s.containers(p)
		}
	}
	for b := range list {
		p := &list[b]
		if len(p.points) == 0 || p.vehicle || !s.cabLike(p) {
			continue
		}
		for k := range list {
			if q := &list[k]; q.vehicle && q.box.length > truckShort && inFront(p.box, q.box) {
				p.vehicle = true
			}
		}
	}
}

// vehicleLike reports whether something has the size and the flat top of a
// van, a truck with its cab, or a container, two on top of each other at most.
// A garage is wider, a shed shorter.
func (s *segmenter) vehicleLike(p *profile) bool {
	l := p.box.length
	w := s.mostWidth(p)
	step := 0.6
	if l > truckShort {
		step = cabStep
	}
	if l > carLength {
		if w < truckWidth-0.4*s.limits.spacing && p.height < hedgeHeight {
			return false // more likely a hedge
		}
	}
	return p.tilt < level && p.spread < step && w > vehicleNarrow && w < vehicleWidth &&
		l > vehicleShort && l < vehicleLength && l > 1.7*w && p.height < vehicleHeight && p.area > 0.4*w*l
}

// mostWidth and mostLength return the sides of a thing without the few returns
// beside it that widen its rectangle, from where all but three hundredths on
// either side lie.
func (s *segmenter) mostWidth(p *profile) float64 {
	return min(p.box.width, s.mostAlong(p, -p.box.dy, p.box.dx))
}

func (s *segmenter) mostLength(p *profile) float64 {
	return min(p.box.length, s.mostAlong(p, p.box.dx, p.box.dy))
}

func (s *segmenter) mostAlong(p *profile, dx, dy float64) float64 {
	along := make([]float64, len(p.points))
	for i, h := range p.points {
		at := &s.block.Points[s.id(h)]
		along[i] = dx*at.East() + dy*at.North()
	}
	slices.Sort(along)
	return (quantile(along, 0.97) - quantile(along, 0.03)) / 0.94
}

// cabLike reports whether something has the size and the flat top of a cab. A few
// returns of what it pulls may count to it.
func (s *segmenter) cabLike(p *profile) bool {
	return p.tilt < level && p.spread < cabStep && p.box.width > vehicleNarrow && p.height < 4 && s.mostLength(p) < cabLength
}

// inFront reports whether one thing stands close before an end of another,
// within its width.
func inFront(p, q box) bool {
	dx, dy := p.x-q.x, p.y-q.y
	u, v := math.Abs(q.dx*dx+q.dy*dy), math.Abs(-q.dy*dx+q.dx*dy)
	return v < 0.6 && u < q.length/2+hitch+p.length/2
}

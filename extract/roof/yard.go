package roof

import (
	"math"
	"slices"

	"quoin/vector"
)

// A yard is told by what certainly is a truck or a container: within so many
// metres stand at least so many of them, each longer than a van. Beside houses
// there are none, in front of halls two or three at a gate.
const (
	yardReach = 25.0
	yardLeast = 3
)

const (
	// groundHigh and groundLow are how far, in metres, the ground between containers
	// may be taken too high, from returns of their sides where hardly any of it is
	// seen, and too low.
	groundHigh = 0.35
	groundLow  = 0.25
	// rowMost is the largest number of containers side by side that is looked for.
	rowMost = 12
)

// stackLike reports whether something is level, wide enough, and each of its
// levels as high as one container or two on top of each other: all that can be
// said of a block of containers where no gaps are seen between them, but for its
// length. Garages in a row are all of that, too, so that where it stands decides.
func (s *segmenter) stackLike(p *profile) bool {
	return p.tilt < level/2 && p.box.width > vehicleNarrow && s.stacked(p, yardStack, [2]float64{groundHigh, groundLow})
}

// truckPart reports whether something is level and no wider than a truck, as
// what is seen of one may be in parts.
func (s *segmenter) truckPart(p *profile) bool {
	return p.tilt < level/2 && p.spread < cabStep && p.box.length < vehicleLength && p.height < vehicleHeight && s.mostWidth(p) < vehicleWidth
}

// A place is where something stands that may be part of a yard: the rectangle
// about it.
type place = box

// ClearYards holds back, as vehicle-like, each building that may be a block of
// containers and stands in a yard of trucks and containers, of all parts of a
// block; where keep is set it is marked so instead. What may be one and has fewer
// of them about is marked and stays. It changes the parts.
func ClearYards(parts []Segmentation, w Work) {
	var certain []place
	for i := range parts {
		certain = append(certain, parts[i].vehicles...)
	}
	limits := limitsOf(w.Measures)
	for i := range parts {
		part := &parts[i]
		for k := len(part.Buildings) - 1; k >= 0; k-- {
			b := &part.Buildings[k]
			if b.stack == nil {
				continue
			}
			switch n := b.stack.company(certain, limits); {
			case n == 0:
			case n < yardLeast || w.Options.KeepVehicleLike:
				b.mark(vector.ReviewVehicleLike)
			default:
				part.withdraw(int32(k), b.stack.held)
			}
		}
	}
}

// company returns how many certain vehicles stand about something that may be of
// their kind. A part of a truck counts as in a yard where it stands before the end
// of one. A block must be as long as a container, along its own rectangle or along
// the nearest of them, or 0 is returned: of containers of several lengths the
// smallest rectangle lies askew, and yards are in rows.
func (k *stack) company(certain []place, l limits) int {
	n, nearest, least := 0, place{}, math.Inf(1)
	for _, c := range certain {
		d := math.Hypot(c.x-k.at.x, c.y-k.at.y)
		if d < yardReach+k.at.length/2 {
			n++
		}
		if d < least {
			nearest, least = c, d
		}
	}
	if k.part {
		if n > 0 && inFront(k.at, nearest) {
			return max(n, yardLeast)
		}
		return n
	}
	if n == 0 || !containerLong(k.at.length, k.at.width, l) && !containerLong(k.extent(nearest.dx, nearest.dy), k.extent(-nearest.dy, nearest.dx), l) {
		return 0
	}
	return n
}

// containerLong reports whether one side of a rectangle is as long as a container,
// as far as the points tell, and the other no longer than a row of them. The
// outermost points lie within the true sides.
func containerLong(a, b float64, l limits) bool {
	for _, long := range containerLengths() {
		for _, side := range [2]float64{a, b} {
			if side > long-0.1-l.spacing && side < long+0.15+0.3*l.spacing && a+b-side < rowMost*(containerWidth+0.4) {
				return true
			}
		}
	}
	return false
}

// A stack is what is kept of a building that may be a block of containers or a
// part of a truck.
type stack struct {
	at   place
	part bool // of a truck rather than a block of containers
	hull [][2]float64
	held Held
}

// stackOf returns what is kept of a building that may be a block of containers or
// a part of a truck; nil where it may not.
func (s *segmenter) stackOf(p *profile) *stack {
	part := s.truckPart(p)
	if p.vehicle || !part && !s.stackLike(p) {
		return nil
	}
	places := make([][2]float64, len(p.points))
	for i, h := range p.points {
		at := &s.block.Points[s.id(h)]
		places[i] = [2]float64{at.East(), at.North()}
	}
	return &stack{p.box, part, convexHull(places), s.held(p, vector.ReviewVehicleLike)}
}

// extent returns how far it reaches in a direction.
func (k *stack) extent(dx, dy float64) float64 {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, p := range k.hull {
		at := p[0]*dx + p[1]*dy
		lo, hi = min(lo, at), max(hi, at)
	}
	return hi - lo
}

// mark adds a reason to look at a building.
func (b *Building) mark(r vector.Reason) {
	if !slices.Contains(b.Reasons, r) {
		b.Reasons = append(b.Reasons, r)
		slices.Sort(b.Reasons)
	}
}

// withdraw takes a building back: its returns become those of an object, and
// the buildings after it move up.
func (r *Segmentation) withdraw(number int32, h Held) {
	r.Buildings = slices.Delete(r.Buildings, int(number), int(number)+1)
	r.Held = append(r.Held, h)
	for k, of := range r.Of {
		switch {
		case of == number:
			r.Of[k], r.Kinds[k] = -1, Object
		case of > number:
			r.Of[k]--
		}
	}
}

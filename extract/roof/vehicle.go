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
	carLength     = 5.8 // what is longer is a truck
	truckWidth    = 2.25
	cabStep       = 1.6 // between the roofs of a cab and of what it pulls
	cabLength     = 3.0
	hitch         = 1.5 // between a cab and what it pulls
)

// Containers are 2.438 m wide, of a few lengths, and 2.591 m or 2.896 m high
// (ISO 668:2020).
const containerWidth = 2.438

func containerLengths() [4]float64 { return [4]float64{6.058, 9.125, 12.192, 13.716} }

func containerHeights() [2]float64 { return [2]float64{2.591, 2.896} }

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
		if len(p.points) == 0 || p.vehicle || !cabLike(p) {
			continue
		}
		for k := range list {
			if q := &list[k]; q.vehicle && q.box.length > carLength && inFront(p, q) {
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
	if l > carLength {
		step = cabStep
		if w < truckWidth-0.4*s.limits.spacing && p.height < hedgeHeight {
			return false // more likely a hedge
		}
	}
	return p.tilt < level && p.spread < step && w > vehicleNarrow && w < vehicleWidth &&
		l > vehicleShort && l < vehicleLength && l > 1.7*w && p.height < vehicleHeight && p.area > 0.4*w*l
}

// mostWidth returns the width of a thing without the few returns beside it
// that widen its rectangle, from where all but three hundredths on either side lie.
func (s *segmenter) mostWidth(p *profile) float64 {
	across := make([]float64, len(p.points))
	for i, h := range p.points {
		at := &s.block.Points[s.id(h)]
		across[i] = p.box.dx*at.North() - p.box.dy*at.East()
	}
	slices.Sort(across)
	return min(p.box.width, (quantile(across, 0.97)-quantile(across, 0.03))/0.94)
}

func cabLike(p *profile) bool {
	return p.tilt < level && p.spread < 0.6 && p.box.width > vehicleNarrow && p.box.length < cabLength && p.height < 4
}

// inFront reports whether one thing stands close before an end of another,
// within its width.
func inFront(p, q *profile) bool {
	dx, dy := p.box.x-q.box.x, p.box.y-q.box.y
	u, v := math.Abs(q.box.dx*dx+q.box.dy*dy), math.Abs(-q.box.dy*dx+q.box.dx*dy)
	return v < 0.6 && u < q.box.length/2+hitch+p.box.length/2
}

// containers reports whether something is a block of containers side by side
// and on top of each other: flat, as long as one, a whole number of them wide
// with room between, and each of its levels a whole number of them high.
func (s *segmenter) containers(p *profile) bool {
	if p.tilt > level/2 {
		return false
	}
	slack := 0.1 + 0.3*s.limits.spacing
	for _, long := range containerLengths() {
		for turned, side := range [2]float64{p.box.length, p.box.width} {
			across := p.box.length + p.box.width - side
			n := math.Round((across - containerWidth) / (containerWidth + 0.4))
			pitch := (across - containerWidth) / n
			if math.Abs(side-long) > slack || n < 1 || n > 12 || pitch < containerWidth-0.02 || pitch > containerWidth+0.85 {
				continue
			}
			slots := s.slots(p, turned == 1)
			small := n == 1 && long > 9 || n == 1 && p.height > 3.5
			if (slots > 0 || small) && s.stacked(p) {
				return true
			}
		}
	}
	return false
}

// stacked reports whether every level of something is as high above ground as
// a stack of containers.
func (s *segmenter) stacked(p *profile) bool {
	slack := max(0.07, 4*s.limits.sigmaZ)
	h := containerHeights()
	for _, k := range s.surfacesOf(p) {
		f := &s.surfaces[k]
		if f.area < 2 {
			continue
		}
		fits := false
		for low := range 5 {
			for high := 0; low+high < 5; high++ {
				fits = fits || low+high > 0 && math.Abs(f.height-float64(low)*h[0]-float64(high)*h[1]) < slack
			}
		}
		if !fits {
			return false
		}
	}
	return true
}

// slots counts the straight gaps of a hand's breadth and more that run all
// through something, along its longer sides or, when turned, along the shorter.
func (s *segmenter) slots(p *profile, turned bool) int {
	dx, dy := -p.box.dy, p.box.dx // across the longer sides
	long, wide := p.box.length, p.box.width
	if turned {
		dx, dy, long, wide = p.box.dx, p.box.dy, wide, long
	}
	const bin = 0.05
	counts := make([]float64, int(wide/bin)+1)
	for _, h := range p.points {
		at := &s.block.Points[s.id(h)]
		v := dx*(at.East()-p.box.x) + dy*(at.North()-p.box.y) + wide/2
		counts[min(max(int(v/bin), 0), len(counts)-1)]++
	}
	const width = 4 // bins: a hand's breadth
	usual := float64(len(p.points)) / (long * wide) * long * width * bin
	if usual < 4 { // by chance, too many are empty
		return 0
	}
	n, inside := 0, false
	for i := int(1.6 / bin); i+width <= len(counts)-int(1.6/bin); i++ {
		sum := 0.0
		for _, c := range counts[i : i+width] {
			sum += c
		}
		empty := sum < usual/4
		if empty && !inside {
			n++
		}
		inside = empty
	}
	return n
}

// A marquee is at least this large, in square metres, and its sides at most
// this high, in metres: a door of a building of this size is higher.
const (
	tentArea = 20.0
	tentSide = 2.15
)

// tentLike reports whether something is a pitched roof whose sides are too low
// for a building of its size. That is judged from shape alone.
func tentLike(p *profile) bool {
	return p.area > tentArea && p.eave < tentSide && p.tilt > 0.2 && p.tilt < 1.2 && p.spread < 3.5 && p.height < 4
}

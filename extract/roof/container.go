package roof

import "math"

// Containers are 2.438 m wide, of a few lengths, and 2.591 m or 2.896 m high
// (ISO 668:2020).
const containerWidth = 2.438

func containerLengths() [4]float64 { return [4]float64{6.058, 9.125, 12.192, 13.716} }

func containerHeights() [2]float64 { return [2]float64{2.591, 2.896} }

// containers reports whether something is a block of containers side by side
// and on top of each other: flat, as long as one, a whole number of them wide
// with room between, each of its levels a whole number of them high, and with a gap
// seen between two. Without it, a row of garages looks the same.
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
			if math.Abs(side-long) > slack || n < 1 || n > rowMost || pitch < containerWidth-0.02 || pitch > containerWidth+0.85 {
				continue
			}
			if slots, sure := s.slots(p, turned == 1); slots > 0 && sure && s.stacked(p, portStack, [2]float64{s.levelSlack(), s.levelSlack()}) {
				return true
			}
		}
	}
	return false
}

// Containers stand on each other two high in yards, four and more in ports. With
// every level the next house is more likely to be as high by chance.
const (
	yardStack = 2
	portStack = 4
)

// levelSlack is how far, in metres, the height of a level above ground may be from
// that of a stack.
func (s *segmenter) levelSlack() float64 { return max(0.07, 4*s.limits.sigmaZ) }

// stacked reports whether every level of something is as high above ground as
// a stack of so many containers or fewer, within a slack below it and above.
func (s *segmenter) stacked(p *profile, most int, slack [2]float64) bool {
	h := containerHeights()
	for _, k := range s.surfacesOf(p) {
		f := &s.surfaces[k]
		if f.area < 2 {
			continue
		}
		fits := false
		for low := range most + 1 {
			for high := 0; low+high <= most; high++ {
				off := f.height - float64(low)*h[0] - float64(high)*h[1]
				fits = fits || low+high > 0 && off > -slack[0] && off < slack[1]
			}
		}
		if !fits {
			return false
		}
	}
	return true
}

// slotWidth is the least gap between containers that is looked for, in metres:
// a hand's breadth.
const slotWidth = 0.2

// slots counts the straight gaps of a hand's breadth and more that run all
// through something, along its longer sides or, when turned, along the shorter.
// Where the returns of a roof are so few that some are missing by chance, which
// is not sure, a gap must show what is below.
func (s *segmenter) slots(p *profile, turned bool) (count int, sure bool) {
	const bin = slotWidth / 4
	dx, dy := -p.box.dy, p.box.dx // across the longer sides
	long, wide := p.box.length, p.box.width
	if turned {
		dx, dy, long, wide = p.box.dx, p.box.dy, wide, long
	}
	n := int(wide/bin) + 1
	across := func(id int32) (v float64, inside bool) {
		at := &s.block.Points[id]
		x, y := at.East()-p.box.x, at.North()-p.box.y
		v = dx*x + dy*y + wide/2
		return v, v > 0 && v < wide && math.Abs(dy*x-dx*y) < long/2-slotWidth
	}
	on, below := make([]int, n), make([]int, n)
	for _, h := range p.points {
		v, _ := across(s.id(h))
		on[min(max(int(v/bin), 0), n-1)]++
	}
	for _, id := range s.ids {
		if v, inside := across(id); inside && float64(s.hag[id]) < p.height-gapDepth {
			below[min(int(v/bin), n-1)]++
		}
	}
	usual := float64(len(p.points)) / wide * slotWidth
	sure = poisson(usual, usual/4)*wide/slotWidth < 0.05
	return countRuns(n, int(vehicleNarrow/bin), func(i int) bool {
		return float64(sum(on[i:i+4])) < usual/4 && (sure || sum(below[i:i+4]) > 0)
	}), sure
}

// countRuns counts the runs of places that are empty, of n less a margin at
// either end.
func countRuns(n, margin int, empty func(i int) bool) int {
	runs, inside := 0, false
	for i := margin; i+4 <= n-margin; i++ {
		e := empty(i)
		if e && !inside {
			runs++
		}
		inside = e
	}
	return runs
}

func sum(v []int) int {
	n := 0
	for _, x := range v {
		n += x
	}
	return n
}

// poisson returns the probability of at most so many where a mean is expected
// (Poisson 1837).
func poisson(mean, most float64) float64 {
	term, sum := math.Exp(-mean), 0.0
	for k := 0.0; k <= most; k++ {
		sum += term
		term *= mean / (k + 1)
	}
	return sum
}

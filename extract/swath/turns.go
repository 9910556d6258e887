package swath

import "math"

const (
	// turnRate is the change of heading, in degrees per second, from which a
	// sensor is in a turn; turnSpan is the windows before and after over which
	// it is taken (2 s), legWindows those over which a heading is.
	turnRate   = 3
	turnSpan   = 4
	legWindows = 2
	// slowest is the speed in m/s below which there is no heading.
	slowest = 1
)

// turning reports for each window between knots whether the heading changes
// by more than turnRate. Near the ends of the path it is taken over what there
// is; where that is too short to tell, or the sensor hovers, it does not turn.
func turning(knots []knot) []bool {
	turns := make([]bool, len(knots)-1)
	for i := range turns {
		lo := max(i-turnSpan, legWindows/2)
		hi := min(i+turnSpan, len(turns)-1-legWindows/2)
		before, ok1 := heading(knots, lo)
		after, ok2 := heading(knots, hi)
		if !ok1 || !ok2 || hi-lo < turnSpan {
			continue
		}
		change := math.Abs(math.Remainder(after-before, 2*math.Pi)) * 180 / math.Pi
		turns[i] = change > turnRate*float64(hi-lo)*windowSeconds
	}
	return turns
}

// heading returns the direction of flight about a window, in radians.
func heading(knots []knot, i int) (float64, bool) {
	lo, hi := i-legWindows/2, i+1+legWindows/2
	if lo < 0 || hi >= len(knots) {
		return 0, false
	}
	d := knots[hi].at.sub(knots[lo].at)
	if math.Hypot(d[0], d[1]) < slowest*float64(hi-lo)*windowSeconds {
		return 0, false
	}
	return math.Atan2(d[1], d[0]), true
}

package swath

import "math"

// A leg is a part of a line without a turn: what is compared as one swath.
type leg struct {
	line    int
	windows []window
}

func (g *leg) points() (n int) {
	for _, w := range g.windows {
		n += int(w.points)
	}
	return n
}

// noLeg marks windows in a turn.
const noLeg = -1

// newCourse is the change of heading in radians from which a line goes on as
// another leg, however slowly it turned there.
const newCourse = math.Pi / 4

// cut divides the lines at turns, as far as the trajectory shows them, and
// notes for each window of each line which leg it belongs to.
func (f *fleet) cut(t *Trajectory) {
	f.legOf = make([][]int32, len(f.lines))
	for i := range f.lines {
		l := &f.lines[i]
		f.legOf[i] = make([]int32, l.last-l.first+1)
		open, course := false, math.NaN()
		for _, w := range l.windows {
			turning, heading := t.course(l.source, w.number)
			if turning {
				f.legOf[i][w.number-l.first] = noLeg
				open = false
				continue
			}
			turned := math.Abs(math.Remainder(heading-course, 2*math.Pi)) > newCourse
			if !open || turned {
				f.legs = append(f.legs, leg{line: i})
				open, course = true, heading
			}
			if math.IsNaN(course) {
				course = heading
			}
			g := &f.legs[len(f.legs)-1]
			g.windows = append(g.windows, w)
			f.legOf[i][w.number-l.first] = int32(len(f.legs) - 1)
		}
	}
}

// course returns whether the sensor turns in a window, and its heading in
// radians; NaN where that is not known.
func (t *Trajectory) course(source uint16, number uint32) (turning bool, direction float64) {
	k, i, _ := t.find(source, uint64(number)*windowTicks)
	if k == nil {
		return false, math.NaN()
	}
	direction, ok := heading(k.knots, i)
	if !ok {
		direction = math.NaN()
	}
	return k.turning[i], direction
}

// leg returns the index of the leg that a point of the given source and time
// belongs to, noLeg for one in a turn.
func (f *fleet) leg(source uint16, tick uint64) int {
	i := f.find(source, tick)
	return int(f.legOf[i][windowOf(tick)-f.lines[i].first])
}

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

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

// legs divides the lines at turns, as far as the trajectory shows them, and
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

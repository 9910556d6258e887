package swath

import (
	"cmp"
	"math"
	"slices"

	"quoin/extract/cloud"
)

// shortestRay is the least distance in metres between the first and the last
// return of a pulse from which its direction is taken.
const shortestRay = 1

// windowPulses is about how many pulses of a window are looked at; which ones
// is decided by a hash of their time. More would cost time and hardly improve
// a position that changes by its own dynamics.
const windowPulses = 300

// lotTicks is how many ticks are chosen or left out together, lest the returns
// of one pulse are parted.
const lotTicks = 16

// sameTicks is how far apart the times of one pulse's returns may be: some
// clouds give each return its own, 6.7 ns later for every metre. Two pulses of
// one source are five ticks apart at 2 MHz.
const sameTicks = 1

// A vec is a position or direction in metres: east, north, up.
type vec [3]float64

func (a vec) sub(b vec) vec           { return vec{a[0] - b[0], a[1] - b[1], a[2] - b[2]} }
func (a vec) add(b vec) vec           { return vec{a[0] + b[0], a[1] + b[1], a[2] + b[2]} }
func (a vec) scale(f float64) vec     { return vec{a[0] * f, a[1] * f, a[2] * f} }
func (a vec) dot(b vec) float64       { return a[0]*b[0] + a[1]*b[1] + a[2]*b[2] }
func (a vec) norm() float64           { return math.Sqrt(a.dot(a)) }
func (a vec) across(d vec) vec        { return a.sub(d.scale(a.dot(d))) }
func lerp(a, b vec, f float64) vec    { return a.scale(1 - f).add(b.scale(f)) }
func between(a, b vec) (vec, float64) { d := b.sub(a); n := d.norm(); return d.scale(1 / n), n }

// A ray is the line through the returns of one pulse, seen from below.
type ray struct {
	tick   uint64
	middle vec     // halfway between the first and the last return
	up     vec     // unit vector towards the sensor
	length float64 // from the last return to the first
}

// isEcho reports whether a point is the first or the last return of a pulse
// with several.
func isEcho(p *cloud.Point) bool {
	n := p.Returns()
	return n >= 2 && (p.Return() == 1 || p.Return() == n)
}

// An echo is a point's place; those of one pulse come together by their order.
type echo struct {
	line, index     int
	tick            uint64
	number, returns int
}

func (e echo) compare(o echo) int {
	return cmp.Or(e.returns-o.returns, cmp.Compare(e.tick, o.tick), e.number-o.number, e.index-o.index)
}

// A sheaf is the rays of one line about an origin of its own: a whole number
// of steps of the block, so that moving the block changes no bit of them.
type sheaf struct {
	origin cloud.Point
	rays   []ray // in order of time
}

func (s *sheaf) place(p *cloud.Point) vec {
	return vec{
		float64(int64(p.X)-int64(s.origin.X)) * cloud.Step,
		float64(int64(p.Y)-int64(s.origin.Y)) * cloud.Step,
		float64(int64(p.Z)-int64(s.origin.Z)) * cloud.Step,
	}
}

// gather returns the rays of each line.
func gather(b *cloud.Block, f *fleet, workers int) []sheaf {
	parts := inChunks(b, workers, func(points []cloud.Point, lo int) []echo { return f.echoes(points, lo) })
	counts := make([]int, len(f.lines))
	for _, part := range parts {
		for _, e := range part {
			counts[e.line]++
		}
	}
	byLine := make([][]echo, len(f.lines))
	for i, n := range counts {
		byLine[i] = make([]echo, 0, n)
	}
	for _, part := range parts {
		for _, e := range part {
			byLine[e.line] = append(byLine[e.line], e)
		}
	}
	return ordered(len(f.lines), workers, func(i int) sheaf { return pair(b, byLine[i]) })
}

// echoes returns the echoes among some points whose pulses were chosen.
func (f *fleet) echoes(points []cloud.Point, lo int) []echo {
	var found []echo
	for i := range points {
		p := &points[i]
		if !isEcho(p) {
			continue
		}
		of := f.find(p.Source, p.Tick())
		l := &f.lines[of]
		pulses := l.windows[l.window(windowOf(p.Tick()))].echoes / 2
		if pulses > windowPulses && mix(p.Tick()/lotTicks^uint64(p.Source)<<48)%uint64(pulses) >= windowPulses {
			continue
		}
		found = append(found, echo{of, lo + i, p.Tick(), p.Return(), p.Returns()})
	}
	return found
}

// pair makes rays of the echoes of a line. Where more than one pulse bears
// the same time and number of returns, as in clouds whose time was rounded,
// none of them is used.
func pair(b *cloud.Block, echoes []echo) sheaf {
	slices.SortFunc(echoes, echo.compare)
	var s sheaf
	for lo := 0; lo < len(echoes); {
		hi := lo + 1
		for hi < len(echoes) && echoes[hi].returns == echoes[lo].returns && echoes[hi].tick-echoes[lo].tick <= sameTicks {
			hi++
		}
		if a, o := echoes[lo], echoes[hi-1]; hi-lo == 2 && a.number+o.number == 1+a.returns {
			if a.number != 1 {
				a, o = o, a
			}
			s.join(&b.Points[a.index], &b.Points[o.index])
		}
		lo = hi
	}
	slices.SortStableFunc(s.rays, func(a, b ray) int { return cmp.Compare(a.tick, b.tick) })
	return s
}

func (s *sheaf) join(first, last *cloud.Point) {
	if len(s.rays) == 0 {
		s.origin = *first
	}
	from, to := s.place(last), s.place(first)
	up, length := between(from, to)
	if length < shortestRay || up[2] <= 0 {
		return
	}
	s.rays = append(s.rays, ray{first.Tick(), lerp(from, to, 0.5), up, length})
}

// longestGap is how many windows a path is carried on without a ray.
const longestGap = 20

// runs returns the rays in stretches without a gap too long to bridge.
func (s *sheaf) runs() []sheaf {
	var runs []sheaf
	lo := 0
	for i := 1; i <= len(s.rays); i++ {
		if i == len(s.rays) || windowOf(s.rays[i].tick)-windowOf(s.rays[i-1].tick) > longestGap {
			runs = append(runs, sheaf{s.origin, s.rays[lo:i]})
			lo = i
		}
	}
	return runs
}

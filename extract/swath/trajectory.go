package swath

import (
	"quoin/extract/cloud"
)

// A Method is how the sensor's positions on a line were found.
type Method string

// The methods, from the best to none.
const (
	// FromReturns: the lines through the returns of single pulses meet in the
	// sensor.
	FromReturns Method = "returns"
	// FromScanAngle: positions against the tangent of the scan angle.
	FromScanAngle Method = "scan angle"
	// Unknown: rays must be taken as vertical.
	Unknown Method = "unknown"
)

// A Trajectory is where the sensor was, by source and time, as far as the
// points tell. It is not changed once made: concurrent use is safe.
type Trajectory struct {
	// By source; of each, in order of time and apart. Those from returns go
	// before those from scan angles where both know.
	fromReturns, fromAngles map[uint16][]track
}

func newTrajectory() *Trajectory {
	return &Trajectory{make(map[uint16][]track), make(map[uint16][]track)}
}

// A track is the positions of one line, in the block's metres.
type track struct {
	first, last uint32  // windows that it answers for
	knots       []knot  // at the ends of windows, the first at that of first
	reach       float64 // median distance from the sensor to what it measured
	turning     []bool  // by window
	method      Method
}

// loosest is the largest standard error of a position, in shares of the
// distance to what was measured, with which it is given out: a ray is then
// displaced at 5 m above ground by 0.3 m at most (one sigma), a tenth of what
// taking it for vertical costs at the side of a swath.
const loosest = 0.06

// Sigma returns the standard error in metres of the position that At gives,
// per axis, perpendicular to the rays: a point's ray at height h above it is
// displaced by h/H of that, H being the sensor's height above the point. It is
// 0 where At gives none.
func (t *Trajectory) Sigma(source uint16, tick uint64) float64 {
	k, i, f := t.find(source, tick)
	if k == nil {
		return 0
	}
	return max(k.knots[i].across*(1-f), k.knots[i+1].across*f, (k.knots[i].across+k.knots[i+1].across)/2)
}

// At returns the sensor's position in the block's metres, z an elevation, when
// the given source measured at the given time. ok is false where the points do
// not tell: then a ray can only be taken as vertical.
func (t *Trajectory) At(source uint16, tick uint64) (x, y, z float64, ok bool) {
	k, i, f := t.find(source, tick)
	if k == nil {
		return 0, 0, 0, false
	}
	p := lerp(k.knots[i].at, k.knots[i+1].at, f)
	return p[0], p[1], p[2], true
}

// Turning reports whether the sensor was known to be in a turn: its points are
// worse then.
func (t *Trajectory) Turning(source uint16, tick uint64) bool {
	k, i, _ := t.find(source, tick)
	return k != nil && k.turning != nil && k.turning[i]
}

// find returns the track, the knot before, and the share of the way to the
// next one.
func (t *Trajectory) find(source uint16, tick uint64) (k *track, i int, f float64) {
	w := windowOf(tick)
	if k = search(t.fromReturns[source], w); k == nil {
		k = search(t.fromAngles[source], w)
	}
	if k == nil {
		return nil, 0, 0
	}
	return k, int(w - k.first), float64(tick-uint64(w)*windowTicks) / windowTicks
}

// search returns the track that answers for a window; nil when none does.
func search(tracks []track, w uint32) *track {
	lo, hi := 0, len(tracks) // the first that begins after w
	for lo < hi {
		if mid := (lo + hi) / 2; tracks[mid].first <= w {
			lo = mid + 1
		} else {
			hi = mid
		}
	}
	if lo == 0 || w > tracks[lo-1].last {
		return nil
	}
	return &tracks[lo-1]
}

// add takes in the path of a line, as far as it is known well enough, about an
// origin in the block.
func (t *Trajectory) add(l *line, p path, origin cloud.Point, method Method) {
	tracks := t.fromReturns
	if method == FromScanAngle {
		tracks = t.fromAngles
	}
	base := vec{origin.East(), origin.North(), origin.Up()}
	for lo := 0; lo < len(p.knots); {
		hi := lo
		for hi < len(p.knots) && p.knots[hi].across <= loosest*p.reach {
			hi++
		}
		if hi-lo >= 2 {
			knots := make([]knot, hi-lo)
			for i := range knots {
				knots[i] = p.knots[lo+i]
				knots[i].at = knots[i].at.add(base)
			}
			tracks[l.source] = append(tracks[l.source], track{
				first: p.first + uint32(lo), last: p.first + uint32(hi) - 2, reach: p.reach,
				knots: knots, turning: turning(knots), method: method,
			})
		}
		lo = hi + 1
	}
}

// plausible reports whether a path can be that of a sensor which measured
// these points: the rays agree with one another to within what a point's noise
// can be, and it is well above what it measured.
func (p *path) plausible() bool {
	const (
		worstNoise = 0.3 // metres
		leastUsed  = 0.6 // share of the rays
		leastReach = 5   // metres
	)
	return p.noise < worstNoise && float64(p.used) >= leastUsed*float64(p.rays) && p.reach > leastReach
}

// Track returns the trajectory of a block's sensors, on the given number of
// workers (all cores when not positive); on a block without time or with
// nothing to tell it from, one that knows no position.
func Track(b *cloud.Block, workers int) *Trajectory {
	return survey(b, workers).trajectory
}

// A voyage is what a block's lines are and where their sensors were.
type voyage struct {
	fleet      *fleet
	trajectory *Trajectory
}

// enoughLocated is the share of a line's points with a position from returns
// from which its scan angles are not looked at.
const enoughLocated = 0.95

func survey(b *cloud.Block, workers int) voyage {
	v := voyage{muster(b, workers), newTrajectory()}
	lines := v.fleet.lines
	sheaves := gather(b, v.fleet, workers)
	paths := ordered(len(lines), workers, func(i int) []path { return intersectAll(&lines[i], sheaves[i]) })
	wanted, origins := make([]bool, len(lines)), make([]cloud.Point, len(lines))
	for i := range lines {
		for _, p := range paths[i] {
			v.trajectory.add(&lines[i], p, sheaves[i].origin, FromReturns)
		}
		whole := leg{line: i, windows: lines[i].windows}
		known := v.trajectory.follow(lines[i].source, &whole, &Swath{})
		wanted[i] = share(known, whole.points()) < enoughLocated
		if origins[i] = sheaves[i].origin; len(sheaves[i].rays) == 0 {
			origins[i] = b.Points[0]
		}
	}
	sightings := v.fleet.sight(b, wanted, origins, workers)
	fromAngles := ordered(len(lines), workers, func(i int) []path { return regress(&lines[i], sightings[i]) })
	for i := range lines {
		for _, p := range fromAngles[i] {
			v.trajectory.add(&lines[i], p, origins[i], FromScanAngle)
		}
	}
	v.fleet.cut(v.trajectory)
	return v
}

func intersectAll(l *line, s sheaf) (paths []path) {
	for _, run := range s.runs() {
		if p, ok := intersect(l, run); ok && p.plausible() {
			paths = append(paths, p)
		}
	}
	return paths
}

package flight

import (
	"math"

	"quoin/extract/scene/chance"
	"quoin/extract/scene/solid"
)

// A pose is where the instrument is and how it is turned: the columns of the
// rotation are its forward, right and down axes.
type pose struct {
	at                   solid.Vec
	forward, right, down solid.Vec
	roll                 float64
}

// A track is the true path along one line and what the navigation believes of
// it.
type track struct {
	plan   *Plan
	line   Line
	phase  [8]float64
	offset solid.Vec
	drift  [3]wander
	tilt   [3]wander // roll, pitch, heading
}

func newTrack(p *Plan, l Line, seed uint64) *track {
	s := chance.New(seed, 0x7ac4, uint64(l.Source))
	t := &track{plan: p, line: l}
	for i := range t.phase {
		t.phase[i] = s.Between(0, 2*math.Pi)
	}
	e := p.Scanner.Errors
	t.offset = solid.Vec{X: e.Offset * s.Normal(), Y: e.Offset * s.Normal(), Z: e.Offset * s.Normal()}
	duration := p.duration(l)
	for i := range 3 {
		t.drift[i] = newWander(s, e.Drift, e.DriftTau, duration)
		t.tilt[i] = newWander(s, [3]float64{e.Roll, e.Pitch, e.Heading}[i], e.Tau, duration)
	}
	return t
}

// flown returns the true pose at a time since the start of the line.
func (t *track) flown(now float64) pose {
	at, heading := t.course(now)
	w := t.plan.Scanner.Wobble
	wave := func(i int, period float64) float64 { return math.Sin(2*math.Pi*now/period + t.phase[i]) }
	roll := w * (wave(0, 3.1) + 0.5*wave(1, 0.9))
	pitch := w * (wave(2, 3.7) + 0.5*wave(3, 1.1))
	yaw := w * (wave(4, 5.3) + 0.5*wave(5, 2.3))
	if now > t.line.Length/t.plan.Speed {
		roll -= math.Copysign(10*degree, t.line.Turn) // banked into the turn
	}
	z := t.plan.Elevation + 0.2*wave(6, 7.9)
	return turned(at.Add(solid.Point{X: 0.15 * wave(7, 6.1), Y: 0.15 * wave(6, 5.7)}).Up(z), heading+yaw, pitch, roll)
}

// course returns the position and heading of the line without its wobble.
func (t *track) course(now float64) (solid.Point, float64) {
	v, straight := t.plan.Speed, t.line.Length/t.plan.Speed
	along := solid.Point{X: math.Cos(t.line.Heading), Y: math.Sin(t.line.Heading)}
	if now <= straight || t.line.Turn == 0 {
		return t.line.From.Add(along.Scale(v * now)), t.line.Heading
	}
	a := t.line.Turn * (now - straight)
	left := solid.Point{X: -along.Y, Y: along.X}
	r := v / t.line.Turn
	end := t.line.From.Add(along.Scale(t.line.Length))
	return end.Add(along.Scale(r * math.Sin(a))).Add(left.Scale(r * (1 - math.Cos(a)))), t.line.Heading + a
}

// turned returns a pose from heading, pitch (nose up) and roll (right wing
// down).
func turned(at solid.Vec, heading, pitch, roll float64) pose {
	ch, sh := math.Cos(heading), math.Sin(heading)
	cp, sp := math.Cos(pitch), math.Sin(pitch)
	cr, sr := math.Cos(roll), math.Sin(roll)
	forward := solid.Vec{X: cp * ch, Y: cp * sh, Z: sp}
	level := solid.Vec{X: sh, Y: -ch} // to the right
	belly := solid.Vec{X: sp * ch, Y: sp * sh, Z: -cp}
	return pose{
		at: at, forward: forward, roll: roll,
		right: level.Scale(cr).Add(belly.Scale(sr)),
		down:  belly.Scale(cr).Sub(level.Scale(sr)),
	}
}

// believed returns what the navigation makes of a pose at that time.
func (t *track) believed(flown pose, now float64) pose {
	factor := 1.0
	if now > t.line.Length/t.plan.Speed {
		factor = t.plan.Scanner.Errors.Turn
	}
	roll, pitch, heading := factor*t.tilt[0].at(now), factor*t.tilt[1].at(now), factor*t.tilt[2].at(now)
	// A small rotation: v + ω × v, with ω along forward, right and down.
	omega := flown.forward.Scale(roll).Add(flown.right.Scale(pitch)).Add(flown.down.Scale(heading))
	lean := func(v solid.Vec) solid.Vec { return v.Add(omega.Cross(v)).Unit() }
	shift := solid.Vec{X: t.drift[0].at(now), Y: t.drift[1].at(now), Z: t.drift[2].at(now)}.Scale(factor)
	return pose{
		at: flown.at.Add(t.offset).Add(shift), forward: lean(flown.forward),
		right: lean(flown.right), down: lean(flown.down), roll: flown.roll + roll,
	}
}

// A wander is a first-order Gauss-Markov process, sampled.
type wander struct {
	step   float64
	values []float64
}

// newWander draws a process of a standard deviation and correlation time.
func newWander(s *chance.Stream, sigma, tau, duration float64) wander {
	w := wander{step: tau / 40}
	keep := math.Exp(-w.step / tau)
	fresh := math.Sqrt(1 - keep*keep)
	x := s.Normal()
	for t := 0.0; t <= duration+2*w.step; t += w.step {
		w.values = append(w.values, sigma*x)
		x = keep*x + fresh*s.Normal()
	}
	return w
}

// at returns the process at a time, between its samples linearly.
func (w wander) at(t float64) float64 {
	u := min(max(t/w.step, 0), float64(len(w.values)-2))
	i := int(u)
	return w.values[i] + (u-float64(i))*(w.values[i+1]-w.values[i])
}

package flight

import (
	"fmt"
	"math"

	"quoin/extract/scene/solid"
)

// A Target is what a flight is planned for.
type Target struct {
	// Low and High are the corners of the block.
	Low, High solid.Point
	// Ground is the mean elevation of its terrain.
	Ground float64
	// Density is the number of pulses of all lines together that should fall
	// on a square metre of it.
	Density float64
	// Heading is the direction of the lines, from east.
	Heading float64
	// CrossLines is the number of lines flown across the others.
	CrossLines int
	// Turns lets the scanner run while the platform turns at the line ends,
	// which then lie inside the block.
	Turns bool
}

// A Line is one flight line: straight, and at its end perhaps a turn.
type Line struct {
	// Source is the point source id of its points.
	Source uint16
	From   solid.Point
	// Heading and Length are of the straight part.
	Heading, Length float64
	// Turn is the rate of turn behind it, positive to the left, and TurnTime
	// how long it goes on.
	Turn, TurnTime float64
	// Start is the GPS time of the first pulse.
	Start float64
}

// A Plan is a flight: the scanner's settings and the lines.
type Plan struct {
	Scanner Scanner
	// Speed is over ground; PulseRate counts pulses inside the field of view
	// while the beam is there; ScanRate is in sweeps a second.
	Speed, PulseRate, ScanRate float64
	// Elevation is that of the platform, Spacing the distance of the lines.
	Elevation, Spacing float64
	// Density is expected on level ground, pulses a square metre, mean over
	// the block.
	Density float64
	Low     solid.Point
	High    solid.Point
	Ground  float64
	Lines   []Line
}

// lead is how far before the swath of a line the scanner starts, in metres.
const lead = 8

// gpsStart is an adjusted standard GPS time in autumn 2025.
const gpsStart = 4.43e8

// MakePlan plans a flight. The platform flies lower than the scanner's usual
// height, down to its least, where the density asks for it; it fails when the
// density is beyond the scanner even there.
func MakePlan(s Scanner, target Target) (*Plan, error) {
	if !(target.Density > 0) {
		return nil, fmt.Errorf("flight: plan: density %g is not above 0", target.Density)
	}
	for {
		p := planAt(s, target)
		if p.PulseRate <= s.MaxPulseRate {
			return p, nil
		}
		const lower = 0.9 // of the height, in a step
		if s.Height*lower < s.MinHeight {
			return nil, fmt.Errorf("flight: plan: %.0f pulses a square metre need %.0f kHz, the %s has %.0f: ask for fewer",
				target.Density, p.PulseRate/1e3, s.Kind, s.MaxPulseRate/1e3)
		}
		s.Height *= lower
	}
}

// planAt plans a flight at the scanner's height, without regard to its highest
// pulse rate.
func planAt(s Scanner, target Target) *Plan {
	p := &Plan{
		Scanner: s, Low: target.Low, High: target.High, Ground: target.Ground, Density: target.Density,
		Elevation: target.Ground + s.Height, Spacing: s.Swath() * (1 - s.Overlap),
	}
	p.lay(target)
	// A line alone gives PulseRate·Active/(Speed·Swath) in the mean of its
	// swath.
	wanted := target.Density / p.coverage() * s.Swath()
	p.Speed = min(max(s.MaxPulseRate*s.Active/wanted, s.MinSpeed), s.Speed)
	p.PulseRate = wanted * p.Speed / s.Active
	// Lines as far apart along the track as pulses are across it.
	p.ScanRate = math.Sqrt(p.Speed * p.PulseRate * s.Active / s.Swath())
	if s.Kind == RotatingBeams {
		p.ScanRate = s.Turns
	}
	p.time(target.Turns)
	return p
}

// lay places the lines so that their swaths cover the block.
func (p *Plan) lay(target Target) {
	add := func(heading float64, count int) {
		low, high := extentAlong(target, heading)
		across := high.Y - low.Y
		if count == 0 {
			// The outermost lines fly near the block's sides, so that its rim
			// is seen as often as its middle.
			count = max(2, int(math.Ceil(across/p.Spacing)))
		}
		for i := range count {
			v := (low.Y+high.Y)/2 + (float64(i)-float64(count-1)/2)*p.Spacing
			u, length := low.X-lead, high.X-low.X+2*lead
			if target.Turns {
				u, length = low.X+lead, high.X-low.X-2*lead
			}
			line := Line{Source: uint16(len(p.Lines) + 1), Heading: heading, Length: length}
			if i%2 == 1 {
				// Every second line is flown back.
				u, line.Heading = u+length, heading+math.Pi
			}
			c, s := math.Cos(heading), math.Sin(heading)
			line.From = solid.Point{X: u*c - v*s, Y: u*s + v*c}
			p.Lines = append(p.Lines, line)
		}
	}
	add(target.Heading, 0)
	if target.CrossLines > 0 {
		add(target.Heading+math.Pi/2, target.CrossLines)
	}
}

// extentAlong returns the block's extent along and across a heading.
func extentAlong(target Target, heading float64) (low, high solid.Point) {
	c, s := math.Cos(heading), math.Sin(heading)
	low = solid.Point{X: math.Inf(1), Y: math.Inf(1)}
	high = low.Scale(-1)
	for _, q := range []solid.Point{target.Low, target.High, {X: target.Low.X, Y: target.High.Y}, {X: target.High.X, Y: target.Low.Y}} {
		u, v := q.X*c+q.Y*s, -q.X*s+q.Y*c
		low = solid.Point{X: min(low.X, u), Y: min(low.Y, v)}
		high = solid.Point{X: max(high.X, u), Y: max(high.Y, v)}
	}
	return low, high
}

// coverage returns the mean number of swaths over a place of the block, each
// weighted by its density there against its own mean.
func (p *Plan) coverage() float64 {
	const steps = 60
	sum := 0.0
	for i := range steps * steps {
		q := solid.Point{
			X: p.Low.X + (p.High.X-p.Low.X)*(float64(i%steps)+0.5)/steps,
			Y: p.Low.Y + (p.High.Y-p.Low.Y)*(float64(i/steps)+0.5)/steps,
		}
		for _, l := range p.Lines {
			d := q.Sub(l.From)
			c, s := math.Cos(l.Heading), math.Sin(l.Heading)
			u, v := d.X*c+d.Y*s, -d.X*s+d.Y*c
			if math.Abs(v) <= p.Scanner.Swath()/2 && u >= 0 && u <= l.Length {
				sum += p.Scanner.weight(v)
			}
		}
	}
	return sum / (steps * steps)
}

// weight returns the density of a swath at a distance from its middle line
// against its mean: the width times the derivative of the sweep's part by that
// distance. Even steps of angle crowd in the middle, a swinging mirror dwells at
// the rim.
func (s Scanner) weight(v float64) float64 {
	angle := math.Atan(v / s.Height)
	half := s.FieldOfView / 2
	partByAngle := 1 / s.FieldOfView
	if s.Kind == OscillatingMirror {
		reach := s.Active * math.Pi / 2
		x := angle / half * math.Sin(reach)
		partByAngle = math.Sin(reach) / (2 * reach * half * math.Sqrt(1-x*x))
	}
	return s.Swath() * partByAngle * math.Cos(angle) * math.Cos(angle) / s.Height
}

// time sets when each line is flown, and its turn.
func (p *Plan) time(turns bool) {
	const between = 15 // seconds for turning round
	// Twelve degrees a second for a drone; an aircraft's standard turn is
	// three. Common practice, no source.
	rate := 12 * degree
	if p.Scanner.Kind == OscillatingMirror {
		rate = 3 * degree
	}
	now := gpsStart
	for i := range p.Lines {
		l := &p.Lines[i]
		if turns {
			l.Turn, l.TurnTime = rate, math.Pi/2/rate
			if i%2 == 1 {
				l.Turn = -rate
			}
		}
		l.Start = now
		now += math.Ceil(p.duration(*l)) + between
	}
}

// duration returns how long the scanner runs on a line.
func (p *Plan) duration(l Line) float64 { return l.Length/p.Speed + l.TurnTime }

// Pulses returns the number of pulses the scanner fires on all lines inside
// its field of view, also beside the block.
func (p *Plan) Pulses() float64 {
	sum := 0.0
	for _, l := range p.Lines {
		sum += p.duration(l) * p.PulseRate * p.Scanner.Active
	}
	return sum
}

package flight

import (
	"math"

	"quoin/extract/scene/chance"
)

// A shot is one pulse as the scanner aims it: angles in the instrument's
// frame.
type shot struct {
	time   float64 // since the start of the line
	index  uint64  // in the line, from 0
	across float64 // positive to the right
	along  float64 // positive forwards
	last   bool    // of its scan line
	back   bool    // the mirror moves to the left
	beam   uint8
}

// shots calls fire for each pulse of a sweep, in order of time: one line of the
// scan, one turn of rotating beams. The pulses are not in step with the sweeps,
// so a sweep starts with any part of a pulse's gap, and with any beam: their
// number need not be whole.
func (p *Plan) shots(sweep int, fire func(shot)) {
	s := p.Scanner
	period := 1 / p.ScanRate
	perBeam := p.PulseRate * period * s.Active / float64(s.Beams)
	phase := chance.Unit(chance.Hash(uint64(sweep), 0x9ac5))
	start := int(phase * 7919 * float64(s.Beams))
	for j := 0; float64(j) < perBeam; j++ {
		for k := range s.Beams {
			at := float64(j) + (phase+float64(k))/float64(s.Beams)
			if at >= perBeam {
				return
			}
			x := shot{
				time:  (float64(sweep) + at/perBeam*s.Active) * period,
				index: uint64(sweep)<<32 | uint64(j*s.Beams+k),
				last:  at+1 >= perBeam,
				beam:  uint8((start + k) % s.Beams),
			}
			x.aim(p, sweep, at/perBeam)
			fire(x)
		}
	}
}

// aim sets the angles for a part of the sweep from 0 to 1.
func (x *shot) aim(p *Plan, sweep int, part float64) {
	s := p.Scanner
	half := s.FieldOfView / 2
	if s.Kind == OscillatingMirror {
		// A sine of which the slow ends are not used.
		reach := s.Active * math.Pi / 2
		x.across = half * math.Sin((2*part-1)*reach) / math.Sin(reach)
		if sweep%2 == 1 {
			x.across, x.back = -x.across, true
		}
		return
	}
	x.across = half * (2*part - 1)
	if s.Beams > 1 {
		// Real fans are not even, and an even one would beat with the
		// advance of a turn: each beam is up to 0.4 gaps off.
		off := 0.8 * (chance.Unit(chance.Hash(uint64(x.beam))) - 0.5)
		x.along = s.Fan * ((float64(x.beam)+off)/float64(s.Beams-1) - 0.5)
	}
}

// sweeps returns the number of sweeps of a line.
func (p *Plan) sweeps(l Line) int { return int(p.duration(l) * p.ScanRate) }

package flight

import (
	"math"

	"quoin/extract/cloud"
	"quoin/extract/scene/chance"
	"quoin/extract/scene/light"
	"quoin/extract/scene/solid"
)

// A shooter works the pulses of one line; one a worker.
type shooter struct {
	caster
	track *track
	seed  uint64
	sun   light.Sun
	out   *cloud.Batch
}

// margin is how far beside the block a pulse is still cast, in metres a metre
// of relief is added to it: what leans into the block must be seen.
const margin = 12

// fire casts one pulse and appends its returns.
func (s *shooter) fire(x shot) {
	flown := s.track.flown(x.time)
	dice := chance.Keyed(chance.Hash(s.seed, uint64(s.track.line.Source), x.index))
	jitter := s.plan.Scanner.Errors.Angle
	dir := pointing(flown, x.along, x.across)
	if !s.near(flown.at, dir) {
		return
	}
	echoes := s.cast(flown, dir, &dice)
	echoes = s.detect(echoes, &dice)
	if len(echoes) == 0 {
		return
	}
	believed := s.track.believed(flown, x.time)
	aimed := pointing(believed, x.along+jitter*dice.Normal(), x.across+jitter*dice.Normal())
	s.record(x, echoes, solid.Ray{Origin: believed.at, Dir: aimed}, &dice)
}

// pointing returns the direction of the beam.
func pointing(p pose, along, across float64) solid.Vec {
	sa, ca := math.Sincos(across)
	sl, cl := math.Sincos(along)
	return p.forward.Scale(sl).Add(p.right.Scale(cl * sa)).Add(p.down.Scale(cl * ca))
}

// near reports whether a pulse can return from within the block.
func (s *shooter) near(at, dir solid.Vec) bool {
	if dir.Z > -0.1 {
		return false
	}
	t := (s.plan.Ground - at.Z) / dir.Z
	x, y := at.X+t*dir.X, at.Y+t*dir.Y
	// Relief of 40 m moves the hit by as much times the lean of the beam.
	room := margin + 40*math.Hypot(dir.X, dir.Y)/-dir.Z
	return x > s.plan.Low.X-room && x < s.plan.High.X+room && y > s.plan.Low.Y-room && y < s.plan.High.Y+room
}

// detect drops the echoes that the receiver does not see and those a mirror or
// water throws away; of too many it keeps the first ones and the last.
func (s *shooter) detect(echoes []echo, dice *chance.Stream) []echo {
	kept := echoes[:0]
	sc := &s.plan.Scanner
	for _, e := range echoes {
		fading := sc.Height / e.t
		level := e.energy * fading * fading * math.Exp(0.15*dice.Normal())
		lost := float64(e.hit.Surface.Gloss)/255 > dice.Float()
		if level >= sc.Threshold && !lost {
			kept = append(kept, e)
		}
	}
	if most := sc.MaxReturns; len(kept) > most {
		kept[most-1] = kept[len(kept)-1]
		kept = kept[:most]
	}
	return kept
}

// record appends the points of a pulse as the navigation places them.
func (s *shooter) record(x shot, echoes []echo, aimed solid.Ray, dice *chance.Stream) {
	sc := &s.plan.Scanner
	for i, e := range echoes {
		t := e.t + sc.Errors.Range*dice.Normal()
		if rough := float64(e.hit.Surface.Rough); rough > 0 {
			t += rough / 1000 * dice.Normal() / max(0.2, -e.hit.Normal.Dot(aimed.Dir))
		}
		class := e.hit.Surface.Class
		if len(echoes) == 1 {
			switch stray := dice.Float(); {
			case stray < sc.LowRate:
				// A detour over a wall: the beam took longer than it should.
				t, class = t+dice.Between(1, 12)/max(0.3, -aimed.Dir.Z), solid.LowNoise
			case stray < sc.LowRate+sc.TopRate:
				t, class = t*dice.Between(0.25, 0.9), solid.HighNoise
			}
		}
		p := aimed.At(t)
		if p.X < s.plan.Low.X || p.X >= s.plan.High.X || p.Y < s.plan.Low.Y || p.Y >= s.plan.High.Y {
			continue
		}
		s.point(x, p, class, e, [2]int{i + 1, len(echoes)})
	}
}

// point appends one return.
func (s *shooter) point(x shot, p solid.Vec, class solid.Class, e echo, number [2]int) {
	b := s.out
	b.X, b.Y, b.Z = append(b.X, p.X), append(b.Y, p.Y), append(b.Z, p.Z)
	b.Time = append(b.Time, s.track.line.Start+x.time)
	fading := s.plan.Scanner.Height / e.t
	b.Intensity = append(b.Intensity, uint16(min(65535, 60000*e.energy*fading*fading)))
	b.Return, b.Returns = append(b.Return, uint8(number[0])), append(b.Returns, uint8(number[1]))
	b.Class = append(b.Class, uint8(class))
	var flags cloud.Flag
	if x.back {
		flags |= cloud.ScanDirection
	}
	if x.last {
		flags |= cloud.EdgeOfFlightLine
	}
	b.Flags = append(b.Flags, flags)
	roll := s.track.flown(x.time).roll
	b.ScanAngle = append(b.ScanAngle, float32((x.across-roll)/degree))
	b.Source = append(b.Source, s.track.line.Source)
	bright, _ := s.sun.Brightness(s.world, e.hit, p)
	channel := func(c uint8) uint16 { return uint16(min(65535, float64(c)*257*bright)) }
	f := e.hit.Surface
	b.Red, b.Green, b.Blue = append(b.Red, channel(f.Red)), append(b.Green, channel(f.Green)), append(b.Blue, channel(f.Blue))
}

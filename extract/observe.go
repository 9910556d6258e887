package extract

import (
	"math"

	"quoin/extract/cloud"
	"quoin/extract/outline"
)

// A sensor tells where the scanner was when it sent a pulse, in local metres,
// not ok when that is unknown; and whether it was in a turn.
type sensor interface {
	At(source uint16, tick uint64) (x, y, z float64, ok bool)
	Turning(source uint16, tick uint64) bool
}

// surroundings are what the observations of any building are taken from.
type surroundings struct {
	block    *cloud.Block
	measures cloud.Measures
	path     sensor
	// headings are the directions of flight of sources, where known.
	headings map[uint16]float64
	// roofOf is the building that each point is a roof point of; -1 for none.
	roofOf []int32
	// hag is each point's height above ground, NaN where unknown.
	hag []float32
	// former is the building that a return was of before it was taken for one
	// that hangs under the roof.
	former map[int32]int32
}

// below returns how far under the roof a return must lie to have passed it:
// more than gutters, blended returns and noise explain.
func (s *surroundings) below() float64 { return max(0.3, 6*s.measures.SigmaZ) }

// margin returns how far around a roof observations are taken.
func (s *surroundings) margin() float64 { return max(4, 10*s.measures.Spacing) }

// obliquest is the tangent of the largest angle from nadir, 60 degrees, at
// which rays are looked for.
const obliquest = 1.73

// observe returns what the pulses about one building say of its roof edge, in
// canonical order of the points.
//
// A roof return says that the roof is where it lies. A return below the roof
// says that there is no roof where its ray passed the height of the roof; it
// says nothing of the place where it lies, which may be under the eave or
// beside a strip that the roof hides. Where the sensor's position is unknown
// rays count as vertical.
func (s *surroundings) observe(building int32, shape *roofShape) []outline.Observation {
	window := s.window(shape)
	met := s.meetings(shape)
	s.markSplit(met, building, window)
	faces, shape := s.faces(shape)
	flush := s.flushSides(faces, shape)
	steady := s.steady(shape)
	var obs []outline.Observation
	for i := range s.block.In(window) {
		p := &s.block.Points[i]
		if steady && s.path.Turning(p.Source, p.Tick()) {
			continue
		}
		o := outline.Observation{X: p.East(), Y: p.North(), Swath: p.Source, Blind: flush.at(s, p)}
		m := met.of(p)
		switch {
		case s.roofOf[i] == building:
			if m != nil && m.split {
				o.Side = outline.Split
			} else if faces[int32(i)] {
				o.Side = outline.Outside
				z, near := shape.height(o.X, o.Y)
				if !s.pierce(p, shape, &o, crossing{z, near, 0}) {
					continue
				}
			}
			obs = append(obs, o)
		case m != nil:
			// counted by the return on the roof
		default:
			if side, ok := s.judge(p, i, shape, &o); ok {
				o.Side = side
				obs = append(obs, o)
			}
		}
	}
	return obs
}

// steadyShare is the share of a roof's points from outside turns from which
// those in turns are left out: attitude is known worse in a turn, and half of
// the density costs less than errors of a decimetre.
const steadyShare = 0.5

// steady reports whether enough of the roof was seen outside turns.
func (s *surroundings) steady(shape *roofShape) bool {
	n := 0
	for _, i := range shape.points {
		p := &s.block.Points[i]
		if !s.path.Turning(p.Source, p.Tick()) {
			n++
		}
	}
	return float64(n) >= steadyShare*float64(len(shape.points))
}

// window returns where the returns lie whose rays may pass near the roof.
func (s *surroundings) window(shape *roofShape) cloud.Rect {
	tallest := 0.0
	for _, i := range shape.points {
		if h := float64(s.hag[i]); h > tallest {
			tallest = h
		}
	}
	return shape.bounds().Pad(obliquest * tallest)
}

// judge returns what a return that is not of this roof says, and puts the
// observation where it says so.
func (s *surroundings) judge(p *cloud.Point, i int, shape *roofShape, o *outline.Observation) (outline.Side, bool) {
	z, near := shape.height(o.X, o.Y)
	switch {
	case near && p.Up() > z-s.below() && s.roofOf[i] >= 0:
		return outline.Outside, true // a neighbour's roof, not lower: nothing of this one shows here
	case near && p.Up() > z+s.below():
		return outline.Unknown, true // foliage, a mast, a wire above
	case near && p.Up() > z-s.below():
		if o.Blind && p.Up() < z-faceDepth*s.measures.SigmaZ {
			return outline.Outside, s.pierce(p, shape, o, crossing{z, near, 0})
		}
		return 0, false // at the roof's own height and not part of it: blended, or unclear
	}
	return outline.Outside, s.pierce(p, shape, o, crossing{z, near, s.below()})
}

// pierceSteps is how often the crossing of ray and roof is improved: for a
// roof of 45 degrees and a ray at 30 degrees each step takes away two fifths
// of what the first guess was off, and the nearest roof point makes the rest
// small.
const pierceSteps = 6

// A crossing is what is known of where a ray passes a roof: the roof's height
// at the return, if near, and how far below it the ray must have come down.
type crossing struct {
	z     float64
	near  bool
	below float64
}

// pierce moves an observation to where the ray of a return passed the height
// of the roof; false when that is beyond the margin, or when the ray had not
// come down far enough below the roof.
func (s *surroundings) pierce(p *cloud.Point, shape *roofShape, o *outline.Observation, c crossing) bool {
	if x, y, up, known := s.path.At(p.Source, p.Tick()); known && up > p.Up() {
		dx, dy := (x-o.X)/(up-p.Up()), (y-o.Y)/(up-p.Up())
		if !c.near {
			c.z = shape.level
		}
		for range pierceSteps {
			at := [2]float64{o.X, o.Y}
			o.X, o.Y = p.East()+dx*(c.z-p.Up()), p.North()+dy*(c.z-p.Up())
			if at == [2]float64{o.X, o.Y} && c.near {
				break // as the next would be
			}
			if next, ok := shape.height(o.X, o.Y); ok {
				c.z, c.near = next, true
			} else {
				c.near = false
			}
		}
	}
	return c.near && p.Up() < c.z-c.below
}

// vertical is the sensor of a cloud that does not tell where it was.
type vertical struct{}

// At knows nothing.
func (vertical) At(uint16, uint64) (x, y, z float64, ok bool) { return 0, 0, math.NaN(), false }

// Turning is never known.
func (vertical) Turning(uint16, uint64) bool { return false }

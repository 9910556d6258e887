package scene

import (
	"fmt"
	"math"

	"quoin/extract/scene/chance"
	"quoin/extract/scene/house"
	"quoin/extract/scene/solid"
	"quoin/extract/scene/yard"
)

// A site is a block being laid out.
type site struct {
	dice      *chance.Stream
	low, high solid.Point
	relief    func(solid.Point) float64 // the land before anything was built
	works     []earthwork
	covers    []cover
	lawn      solid.Surface
	buildings []*house.Building
	things    []yard.Thing
	taken     []circle
	err       error // the first building that could not be built
}

// A circle keeps a place from being used twice.
type circle struct {
	at     solid.Point
	radius float64
}

// An earthwork changes the land: within its region it is level at an
// elevation or moved by a height, with a bank around it.
type earthwork struct {
	region house.Region
	z      float64
	moved  bool // z is added to the land
	bank   float64
}

// A cover is the surface of the ground in a region.
type cover struct {
	region  house.Region
	surface solid.Surface
}

// newSite returns an empty block of a size about the origin.
func newSite(seed uint64, extent [2]float64) *site {
	half := solid.Point{X: extent[0] / 2, Y: extent[1] / 2}
	return &site{
		dice: chance.New(seed, 0x517e), low: half.Scale(-1), high: half, lawn: grass,
		relief: func(solid.Point) float64 { return baseElevation },
	}
}

// baseElevation is that of the block's middle.
const baseElevation = 32.0

// ground returns the elevation of the land with the earthworks so far.
func (s *site) ground(p solid.Point) float64 {
	z := s.relief(p)
	for i := range s.works {
		w := &s.works[i]
		far := distance(w.region, p)
		if far >= w.bank {
			continue
		}
		share := 1 - smooth(far/w.bank)
		if w.moved {
			z += share * w.z
			continue
		}
		z += share * (w.z - z)
	}
	return z
}

// smooth eases from 0 to 1.
func smooth(u float64) float64 {
	u = min(max(u, 0), 1)
	return u * u * (3 - 2*u)
}

// distance returns how far p is outside the region; 0 inside.
func distance(r house.Region, p solid.Point) float64 {
	low, high := r.Bounds()
	if box := math.Hypot(max(low.X-p.X, 0, p.X-high.X), max(low.Y-p.Y, 0, p.Y-high.Y)); box > 8 {
		return box // banks are narrower than this
	}
	if r.Contains(p) {
		return 0
	}
	best := math.Inf(1)
	for _, ring := range r {
		for i, a := range ring {
			d := ring[(i+1)%len(ring)].Sub(a)
			u := min(max(p.Sub(a).Dot(d)/d.Dot(d), 0), 1)
			best = min(best, p.Sub(a.Add(d.Scale(u))).Length())
		}
	}
	return best
}

// surface returns the cover of the ground at p: the last laid.
func (s *site) surface(p solid.Point) solid.Surface {
	for i := len(s.covers) - 1; i >= 0; i-- {
		low, high := s.covers[i].region.Bounds()
		if p.X >= low.X && p.X <= high.X && p.Y >= low.Y && p.Y <= high.Y && s.covers[i].region.Contains(p) {
			return s.covers[i].surface
		}
	}
	return s.lawn
}

// free reports whether a circle touches none taken and stays in the block.
func (s *site) free(p solid.Point, radius float64) bool {
	if p.X-radius < s.low.X || p.X+radius > s.high.X || p.Y-radius < s.low.Y || p.Y+radius > s.high.Y {
		return false
	}
	for _, c := range s.taken {
		if p.Sub(c.at).Length() < radius+c.radius {
			return false
		}
	}
	return true
}

// take marks the place of a region as used, with circles along it.
func (s *site) take(r house.Region, room float64) {
	for _, ring := range r {
		for i, a := range ring {
			d := ring[(i+1)%len(ring)].Sub(a)
			n := int(d.Length()/1.5) + 1
			for k := range n {
				s.taken = append(s.taken, circle{a.Add(d.Scale(float64(k) / float64(n))), room})
			}
		}
	}
	low, high := r.Bounds()
	for y := low.Y; y < high.Y; y += 2 {
		for x := low.X; x < high.X; x += 2 {
			if p := (solid.Point{X: x, Y: y}); r.Contains(p) {
				s.taken = append(s.taken, circle{p, 1.2 + room/2})
			}
		}
	}
}

// build adds a building of sections, keeping what failed for Compose.
func (s *site) build(kind string, sections []house.Section) *house.Building {
	b, err := house.Build(fmt.Sprintf("B%03d", len(s.buildings)+1), kind, sections)
	if err != nil {
		if s.err == nil {
			s.err = err
		}
		return &house.Building{}
	}
	s.buildings = append(s.buildings, b)
	s.take(b.RoofEdge, 0.6)
	return b
}

// pad levels the ground for a building around p and returns its elevation.
func (s *site) pad(f house.Frame, length, width, bank float64) float64 {
	z := s.ground(f.Origin)
	region := house.Region{solid.Rectangle(f.Origin, length, width, f.Heading)}
	s.works = append(s.works, earthwork{region: region, z: z, bank: bank})
	return z
}

// add puts things on the block and takes their places.
func (s *site) add(things ...yard.Thing) {
	for _, t := range things {
		s.things = append(s.things, t)
		if len(t.Outline) > 2 {
			s.take(house.Region{t.Outline}, 0.2)
		}
	}
}

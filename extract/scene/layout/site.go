package layout

import (
	"fmt"
	"math"

	"quoin/extract/scene/chance"
	"quoin/extract/scene/house"
	"quoin/extract/scene/solid"
	"quoin/extract/scene/yard"
)

// A Site is a block laid out.
type Site struct {
	// Low and High are its corners.
	Low, High solid.Point
	// Buildings and Things stand on it, in the order of their numbers.
	Buildings []*house.Building
	Things    []yard.Thing

	dice   *chance.Stream
	relief func(solid.Point) float64 // the land before anything was built
	works  []earthwork
	covers []cover
	lawn   solid.Surface
	taken  []circle
	err    error // the first building that could not be built
}

// Lay lays out a block of a kind and size. The same arguments give the same
// block. It fails when a building of it cannot be built.
func Lay(kind Kind, seed uint64, extent [2]float64) (*Site, error) {
	s := newSite(seed, extent)
	kind.lay(s)
	if s.err != nil {
		return nil, fmt.Errorf("layout: lay %s: %w", kind.Name, s.err)
	}
	return s, nil
}

// A circle keeps a place from being used twice.
type circle struct {
	at     solid.Point
	radius float64
}

// A zone is a region with its bounds, which most questions end at.
type zone struct {
	region    house.Region
	low, high solid.Point
}

func zoneOf(r house.Region) zone {
	low, high := r.Bounds()
	return zone{r, low, high}
}

// An earthwork changes the land: within its zone it is level at an elevation
// or moved by a height, with a bank around it.
type earthwork struct {
	zone  zone
	z     float64
	moved bool // z is added to the land
	bank  float64
}

// A cover is the surface of the ground in a zone.
type cover struct {
	zone    zone
	surface solid.Surface
}

// lay covers the ground of regions with a surface.
func (s *Site) lay(surface solid.Surface, regions ...house.Region) {
	for _, r := range regions {
		s.covers = append(s.covers, cover{zoneOf(r), surface})
	}
}

// newSite returns an empty block of a size about the origin.
func newSite(seed uint64, extent [2]float64) *Site {
	half := solid.Point{X: extent[0] / 2, Y: extent[1] / 2}
	return &Site{
		dice: chance.New(seed, 0x517e), Low: half.Scale(-1), High: half, lawn: grass,
		relief: func(solid.Point) float64 { return baseElevation },
	}
}

// baseElevation is that of the block's middle.
const baseElevation = 32.0

// ground returns the elevation of the land with the earthworks so far.
func (s *Site) ground(p solid.Point) float64 {
	z := s.relief(p)
	for i := range s.works {
		w := &s.works[i]
		far := w.zone.distance(p)
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

// distance returns how far p is outside the zone; 0 inside.
func (z *zone) distance(p solid.Point) float64 {
	r := z.region
	aside, beyond := max(z.low.X-p.X, 0, p.X-z.high.X), max(z.low.Y-p.Y, 0, p.Y-z.high.Y)
	if aside > 8 || beyond > 8 {
		return max(aside, beyond) // banks are narrower than this
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
func (s *Site) surface(p solid.Point) solid.Surface {
	for i := len(s.covers) - 1; i >= 0; i-- {
		z := &s.covers[i].zone
		if p.X >= z.low.X && p.X <= z.high.X && p.Y >= z.low.Y && p.Y <= z.high.Y && z.region.Contains(p) {
			return s.covers[i].surface
		}
	}
	return s.lawn
}

// free reports whether a circle touches none taken and stays in the block.
func (s *Site) free(p solid.Point, radius float64) bool {
	if p.X-radius < s.Low.X || p.X+radius > s.High.X || p.Y-radius < s.Low.Y || p.Y+radius > s.High.Y {
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
func (s *Site) take(r house.Region, room float64) {
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

// build adds a building of sections.
func (s *Site) build(kind string, sections []house.Section) *house.Building {
	b, err := house.Build(s.nextID(), kind, sections)
	return s.keep(b, err)
}

func (s *Site) nextID() string { return fmt.Sprintf("B%03d", len(s.Buildings)+1) }

// keep adds a building, or keeps the first failure for Lay; what it returns
// can be furnished either way.
func (s *Site) keep(b *house.Building, err error) *house.Building {
	if err != nil {
		if s.err == nil {
			s.err = err
		}
		return &house.Building{}
	}
	s.Buildings = append(s.Buildings, b)
	s.take(b.RoofEdge, 0.6)
	return b
}

// pad levels the ground for a building around p and returns its elevation.
func (s *Site) pad(f house.Frame, length, width, bank float64) float64 {
	z := s.ground(f.Origin)
	region := house.Region{solid.Rectangle(f.Origin, length, width, f.Heading)}
	s.works = append(s.works, earthwork{zone: zoneOf(region), z: z, bank: bank})
	return z
}

// add puts things on the block and takes their places.
func (s *Site) add(things ...yard.Thing) {
	for _, t := range things {
		s.Things = append(s.Things, t)
		if len(t.Outline) > 2 {
			s.take(house.Region{t.Outline}, 0.2)
		}
	}
}

// apron is how far the terrain goes on beside the block: pulses that look
// outwards must land on something.
const apron = 45

// terrainCell is the size of a terrain cell in metres: kerbs are a cell wide.
// maxCells bounds the grid of a large block, which gets coarser cells.
const (
	terrainCell = 0.25
	maxCells    = 6e6
)

// Terrain samples the site's land, with some around the block.
func (s *Site) Terrain() *solid.Grid {
	around := solid.Point{X: apron, Y: apron}
	box := [2]solid.Point{s.Low.Sub(around), s.High.Add(around)}
	size := box[1].Sub(box[0])
	cell := max(terrainCell, math.Sqrt(size.X*size.Y/maxCells))
	return solid.GridOf(box, cell, s.ground, s.surface)
}

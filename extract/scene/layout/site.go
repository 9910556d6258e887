package layout

import (
	"fmt"
	"math"

	"quoin/extract/scene/chance"
	"quoin/extract/scene/house"
	"quoin/extract/scene/land"
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

	*land.Land

	dice  *chance.Stream
	taken *land.Taken
	err   error // the first building that could not be built
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

// newSite returns an empty block of a size about the origin.
func newSite(seed uint64, extent [2]float64) *Site {
	half := solid.Point{X: extent[0] / 2, Y: extent[1] / 2}
	return &Site{
		dice: chance.New(seed, 0x517e), Low: half.Scale(-1), High: half, taken: land.NewTaken(),
		Land: land.New(func(solid.Point) float64 { return baseElevation }, grass),
	}
}

// baseElevation is that of the block's middle.
const baseElevation = 32.0

// free reports whether a circle touches none taken and stays in the block.
func (s *Site) free(p solid.Point, radius float64) bool {
	if p.X-radius < s.Low.X || p.X+radius > s.High.X || p.Y-radius < s.Low.Y || p.Y+radius > s.High.Y {
		return false
	}
	return s.taken.Free(p, radius)
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
	s.taken.Region(b.RoofEdge, 0.6)
	return b
}

// pad levels the ground for a building around p and returns its elevation.
func (s *Site) pad(f house.Frame, length, width, bank float64) float64 {
	z := s.Elevation(f.Origin)
	region := house.Region{solid.Rectangle(f.Origin, length, width, f.Heading)}
	s.Level(region, z, bank)
	return z
}

// add puts things on the block and takes their places.
func (s *Site) add(things ...yard.Thing) {
	for _, t := range things {
		s.Things = append(s.Things, t)
		if len(t.Outline) > 2 {
			s.taken.Region(house.Region{t.Outline}, 0.2)
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
	return solid.GridOf(box, cell, s.Elevation, s.Surface)
}

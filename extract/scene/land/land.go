// Package land is the ground of a simulated block: its relief with what was dug
// and heaped up, its covers, and which places are taken.
//
// Lengths are metres about the block's middle: x east, y north, z up.
package land

import (
	"quoin/extract/scene/house"
	"quoin/extract/scene/solid"
)

// A Land is the ground of a block being laid out.
type Land struct {
	// Relief is the elevation before anything was built, Lawn the surface
	// where nothing was laid.
	Relief func(solid.Point) float64
	Lawn   solid.Surface

	works     []earthwork
	covers    []cover
	nearWorks near
	nearCover near
}

// New returns land of a relief under a lawn.
func New(relief func(solid.Point) float64, lawn solid.Surface) *Land {
	return &Land{Relief: relief, Lawn: lawn, nearWorks: near{}, nearCover: near{}}
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

// Level makes a region level at elevation z, with a bank of a width around it.
// Later works change what earlier ones left.
func (l *Land) Level(r house.Region, z, bank float64) {
	l.work(earthwork{zone: zoneOf(r), z: z, bank: bank})
}

// Heap raises a region by a height, or lowers it, with a bank around it.
func (l *Land) Heap(r house.Region, height, bank float64) {
	l.work(earthwork{zone: zoneOf(r), z: height, moved: true, bank: bank})
}

func (l *Land) work(w earthwork) {
	reach := solid.Point{X: w.bank, Y: w.bank}
	l.nearWorks.add(len(l.works), w.zone.low.Sub(reach), w.zone.high.Add(reach))
	l.works = append(l.works, w)
}

// Lay covers regions with a surface, over what was laid before.
func (l *Land) Lay(surface solid.Surface, regions ...house.Region) {
	for _, r := range regions {
		z := zoneOf(r)
		l.nearCover.add(len(l.covers), z.low, z.high)
		l.covers = append(l.covers, cover{z, surface})
	}
}

// Elevation returns the elevation at p after the works so far.
func (l *Land) Elevation(p solid.Point) float64 {
	z := l.Relief(p)
	for _, i := range l.nearWorks.at(p) {
		w := &l.works[i]
		far := w.zone.distance(p, w.bank)
		if far >= w.bank {
			continue
		}
		share := 1 - Smooth(far/w.bank)
		if w.moved {
			z += share * w.z
			continue
		}
		z += share * (w.z - z)
	}
	return z
}

// Surface returns the cover of the ground at p: the last laid.
func (l *Land) Surface(p solid.Point) solid.Surface {
	laid := l.nearCover.at(p)
	for k := len(laid) - 1; k >= 0; k-- {
		c := &l.covers[laid[k]]
		if c.zone.holds(p) {
			return c.surface
		}
	}
	return l.Lawn
}

// Smooth eases from 0 at 0 to 1 at 1, level at both.
func Smooth(u float64) float64 {
	u = min(max(u, 0), 1)
	return u * u * (3 - 2*u)
}

package cloud

import (
	"math"

	"github.com/paulmach/orb"

	"quoin/vector"
)

// OriginStep is what a block's origin is a multiple of, in metres. Any grid
// whose cell divides it is anchored on the origin of the CRS, so that the same
// place falls into the same cell whatever else the block holds.
const OriginStep = 1024

// A Frame ties a block's local metres to the CRS: local = CRS·unit − origin.
type Frame struct {
	// OriginE and OriginN are in metres, multiples of OriginStep.
	OriginE, OriginN float64
	// Horizontal and Vertical are metres per CRS unit.
	Horizontal, Vertical float64
}

// NewFrame returns a frame for coordinates near the given ones, in CRS units.
func NewFrame(near orb.Point, crs vector.CRS) Frame {
	down := func(v float64) float64 { return math.Floor(v/OriginStep) * OriginStep }
	h := crs.Horizontal.Metres
	return Frame{down(near[0] * h), down(near[1] * h), h, crs.Vertical.Metres}
}

// ToCRS returns the CRS coordinates of a local position.
func (f Frame) ToCRS(x, y float64) orb.Point {
	return orb.Point{(x + f.OriginE) / f.Horizontal, (y + f.OriginN) / f.Horizontal}
}

// FromCRS returns the local position of CRS coordinates.
func (f Frame) FromCRS(p orb.Point) (x, y float64) {
	return p[0]*f.Horizontal - f.OriginE, p[1]*f.Horizontal - f.OriginN
}

// pack returns the steps of a CRS coordinate from the origin. The rounding is
// done on the whole coordinate, so that it does not depend on the origin.
func pack(value, unit, origin float64) int64 {
	return int64(math.Round(value*unit/Step)) - int64(math.Round(origin/Step))
}

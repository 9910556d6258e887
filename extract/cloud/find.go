package cloud

import (
	"cmp"
	"slices"
)

// Find returns the index of the first point at a position in CRS units, as a
// file stores it; false where the block has none there. Points that were left
// out when the block was loaded are not found. Time is logarithmic in the
// points of a square metre.
func (b *Block) Find(x, y, z float64) (int, bool) {
	px, py := pack(x, b.Frame.Horizontal, b.Frame.OriginE), pack(y, b.Frame.Horizontal, b.Frame.OriginN)
	pz := pack(z, b.Frame.Vertical, 0)
	if !finite(x) || !finite(y) || !finite(z) || !fits(px) || !fits(py) || !fits(pz) {
		return 0, false
	}
	p := Point{X: int32(px), Y: int32(py), Z: int32(pz)}
	k, known := slices.BinarySearchFunc(b.units, p, func(u unit, p Point) int {
		return cmp.Or(cmp.Compare(u.row, floorDiv(p.Y, UnitSize)), cmp.Compare(u.col, floorDiv(p.X, UnitSize)))
	})
	if !known {
		return 0, false
	}
	u := &b.units[k]
	cell := (floorDiv(p.Y, indexCell)-u.row*unitCells)*unitCells + floorDiv(p.X, indexCell) - u.col*unitCells
	lo, hi := u.start+int(u.cells[cell]), u.start+int(u.cells[cell+1])
	at, same := slices.BinarySearchFunc(b.Points[lo:hi], p, func(a, p Point) int {
		return cmp.Or(cmp.Compare(a.X, p.X), cmp.Compare(a.Y, p.Y), cmp.Compare(a.Z, p.Z))
	})
	return lo + at, same
}

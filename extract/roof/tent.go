package roof

// Facts of the trade about marquees and frame tents (common practice, no
// source): sides of 1.8 to 2.1 m, wide ones more; roofs of 18 to 22 degrees, of
// traditional tents up to 35; from some 20 square metres on. A building of that
// size has a door of 2 m with a lintel
// and the roof above it, and where an eave comes down lower, the roof is
// steeper. Frames with sides of 2.3 m and more look like a house, and are
// delivered as one.
const (
	tentArea   = 20.0
	tentSide   = 2.15 // metres
	tentLevel  = 0.2  // gradient: 11 degrees
	tentSteep  = 0.75 // 37 degrees
	tentHeight = 4.0  // metres, in the middle of the roof
	tentSpread = 3.5  // metres, from side to ridge
)

// tentLike reports whether something is a pitched roof whose sides are too low
// for a building of its size. That is judged from shape alone.
func tentLike(p *profile) bool {
	return p.area > tentArea && p.eave < tentSide && p.tilt > tentLevel && p.tilt < tentSteep &&
		p.spread < tentSpread && p.height < tentHeight
}

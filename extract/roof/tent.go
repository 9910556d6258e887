package roof

// A marquee is at least this large, in square metres, and its sides at most
// this high, in metres: a door of a building of this size is higher.
const (
	tentArea = 20.0
	tentSide = 2.15
)

// tentLike reports whether something is a pitched roof whose sides are too low
// for a building of its size. That is judged from shape alone.
func tentLike(p *profile) bool {
	return p.area > tentArea && p.eave < tentSide && p.tilt > 0.2 && p.tilt < 1.2 && p.spread < 3.5 && p.height < 4
}

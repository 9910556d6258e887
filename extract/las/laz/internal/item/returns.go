package item

// Map8 gives the context of a number of returns and a return number of up to
// seven, Map16 that of up to fifteen.
var (
	Map8 = [8][8]uint8{
		{15, 14, 13, 12, 11, 10, 9, 8},
		{14, 0, 1, 3, 6, 10, 10, 9},
		{13, 1, 2, 4, 7, 11, 11, 10},
		{12, 3, 4, 5, 8, 12, 12, 11},
		{11, 6, 7, 8, 9, 13, 13, 12},
		{10, 10, 11, 12, 13, 14, 14, 13},
		{9, 10, 11, 12, 13, 14, 15, 14},
		{8, 9, 10, 11, 12, 13, 14, 15},
	}
	Map16 = [16][16]uint8{
		{0, 1, 2, 3, 4, 5, 3, 4, 4, 5, 5, 5, 5, 5, 5, 5},
		{1, 0, 1, 3, 3, 3, 3, 3, 3, 3, 3, 3, 3, 3, 3, 3},
		{2, 1, 2, 4, 4, 4, 4, 4, 4, 4, 4, 3, 3, 3, 3, 3},
		{3, 3, 4, 5, 4, 4, 4, 4, 4, 4, 4, 4, 4, 4, 4, 4},
		{4, 3, 4, 4, 5, 4, 4, 4, 4, 4, 4, 4, 4, 4, 4, 4},
		{5, 3, 4, 4, 4, 5, 4, 4, 4, 4, 4, 4, 4, 4, 4, 4},
		{3, 3, 4, 4, 4, 4, 5, 4, 4, 4, 4, 4, 4, 4, 4, 4},
		{4, 3, 4, 4, 4, 4, 4, 5, 4, 4, 4, 4, 4, 4, 4, 4},
		{4, 3, 4, 4, 4, 4, 4, 4, 5, 4, 4, 4, 4, 4, 4, 4},
		{5, 3, 4, 4, 4, 4, 4, 4, 4, 5, 4, 4, 4, 4, 4, 4},
		{5, 3, 4, 4, 4, 4, 4, 4, 4, 4, 5, 4, 4, 4, 4, 4},
		{5, 3, 3, 4, 4, 4, 4, 4, 4, 4, 4, 5, 5, 4, 4, 4},
		{5, 3, 3, 4, 4, 4, 4, 4, 4, 4, 4, 5, 5, 5, 4, 4},
		{5, 3, 3, 4, 4, 4, 4, 4, 4, 4, 4, 4, 5, 5, 5, 4},
		{5, 3, 3, 4, 4, 4, 4, 4, 4, 4, 4, 4, 4, 5, 5, 5},
		{5, 3, 3, 4, 4, 4, 4, 4, 4, 4, 4, 4, 4, 4, 5, 5},
	}
)

// Level returns how far a return is from the last one, at most seven.
func Level(n, r uint32) uint32 {
	d := int32(n) - int32(r)
	if d < 0 {
		d = -d
	}
	return uint32(min(d, 7))
}

// Context returns the context of a difference that follows on one of class k:
// even classes below limit, and limit for all from there on, plus one for
// single returns.
func Context(k, limit, single uint32) uint32 {
	return single + min(k&^1, limit)
}

// Flag returns 1 for true and 0 for false.
func Flag(b bool) uint32 {
	if b {
		return 1
	}
	return 0
}

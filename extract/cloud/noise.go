package cloud

// Points that a file classes as noise (ASPRS classes 7 and 18) are left out,
// for whoever classed them may have known more than can be seen. But a class is
// no measurement: where it says that a whole surface is noise, or much of the
// cloud, it is wrong, and believing it would lose buildings.
const (
	// noiseShare is the share of a cloud's points that may be noise. The USGS
	// Lidar Base Specification lets no more than 2 % be wrong in any class
	// (from memory); multipath over water and haze make up to this.
	noiseShare = 0.05
	// noiseCell is the side in metres of the squares in which noise is held
	// against the other points, noiseSurface the number of points there from
	// which they are a surface: one a square metre.
	noiseCell    = 2
	noiseSurface = 4
)

func isNoise(class uint8) bool { return class == 7 || class == 18 }

// A noiseTally counts the points of one square.
type noiseTally struct{ noise, others uint32 }

// surface reports whether what is classed as noise in a square is more than
// stray returns.
func (t noiseTally) surface() bool { return t.noise >= noiseSurface && t.noise > t.others }

// noiseSide is the number of squares along a unit.
const noiseSide = UnitSize / noiseCell

// A noisePlain tells which squares of a unit are surfaces of what is classed as
// noise, by row and column: a bit each.
type noisePlain [noiseSide * noiseSide / 64]uint64

func (n *noisePlain) set(i int32)      { n[i/64] |= 1 << (i % 64) }
func (n *noisePlain) has(i int32) bool { return n[i/64]&(1<<(i%64)) != 0 }

// judgeNoise decides what becomes of the points classed as noise: they are kept
// where so many are that the class cannot be right, or where they and others
// like them about them make up a surface.
func (a *assembly) judgeNoise() {
	classed, all := 0, 0
	for _, l := range a.loaders {
		classed += a.home.count(l.noisy)
		all += a.home.count(l.squares)
	}
	if classed == 0 || float64(classed) > noiseShare*float64(all+classed) {
		return
	}
	plains := make([]*noisePlain, len(a.crates))
	parallel(len(plains), func(i int) { plains[i] = a.plain(a.crates[i]) })
	a.surfaces = make(map[unitKey]*noisePlain)
	for i, p := range plains {
		if p != nil {
			a.surfaces[a.crates[i].key] = p
		}
	}
}

// count adds up the points on the squares of a mass; on all for nil.
func (m mass) count(squares map[square]int) (n int) {
	for s, k := range squares {
		if _, ok := m[s]; ok || m == nil {
			n += k
		}
	}
	return n
}

// plain returns the surfaces of a unit, nil where there are none.
func (a *assembly) plain(c *crate) *noisePlain {
	var tallies [noiseSide * noiseSide]noiseTally
	noise := 0
	a.each(c, func(p Point) {
		t := &tallies[squareAt(&p).place(c.key)]
		if isNoise(p.Class) {
			noise++
			t.noise++
		} else {
			t.others++
		}
	})
	if noise < noiseSurface {
		return nil
	}
	var plain *noisePlain
	for i, t := range tallies {
		if t.surface() {
			if plain == nil {
				plain = new(noisePlain)
			}
			plain.set(int32(i))
		}
	}
	return plain
}

// keepsNoise reports whether a point classed as noise is kept: its square or one
// beside it is a surface. At the edge of one its own points are fewer than others.
func (a *assembly) keepsNoise(p *Point) bool {
	if a.surfaces == nil {
		return true
	}
	k := squareAt(p)
	for dr := int32(-1); dr <= 1; dr++ {
		for dc := int32(-1); dc <= 1; dc++ {
			s := noiseSquare{k.row + dr, k.col + dc}
			unit := unitKey{floorOf(s.row, noiseSide), floorOf(s.col, noiseSide)}
			if plain := a.surfaces[unit]; plain != nil && plain.has(s.place(unit)) {
				return true
			}
		}
	}
	return false
}

// A noiseSquare is the row and column of a square of noiseCell.
type noiseSquare struct{ row, col int32 }

func squareAt(p *Point) noiseSquare {
	return noiseSquare{floorDiv(p.Y, noiseCell), floorDiv(p.X, noiseCell)}
}

// place returns the number of a square in its unit.
func (s noiseSquare) place(unit unitKey) int32 {
	return (s.row-unit.row*noiseSide)*noiseSide + s.col - unit.col*noiseSide
}

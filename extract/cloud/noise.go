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

// withoutNoise takes out the points classed as noise, unless so many are that
// the class cannot be right, or they and others like them about them make up a
// surface. It returns what is kept, how many were taken out, and how many were
// classed as noise and kept.
func withoutNoise(points []Point) (kept []Point, noise, doubted uint64) {
	classed := uint64(0)
	for i := range points {
		if isNoise(points[i].Class) {
			classed++
		}
	}
	switch {
	case classed == 0:
		return points, 0, 0
	case float64(classed) > noiseShare*float64(len(points)):
		return points, 0, classed
	}
	tallies := tallyNoise(points)
	kept = points[:0]
	for _, p := range points {
		if isNoise(p.Class) {
			if !onSurface(tallies, squareAt(&p)) {
				noise++
				continue
			}
			doubted++
		}
		kept = append(kept, p)
	}
	return kept, noise, doubted
}

// tallyNoise counts the points of the squares that hold noise.
func tallyNoise(points []Point) map[square]noiseTally {
	tallies := make(map[square]noiseTally)
	for i := range points {
		if isNoise(points[i].Class) {
			k := squareAt(&points[i])
			t := tallies[k]
			t.noise++
			tallies[k] = t
		}
	}
	for i := range points {
		if k := squareAt(&points[i]); !isNoise(points[i].Class) {
			if t, ok := tallies[k]; ok {
				t.others++
				tallies[k] = t
			}
		}
	}
	return tallies
}

// onSurface reports whether a square or one beside it is a surface: at the edge
// of one its own points are fewer than others.
func onSurface(tallies map[square]noiseTally, k square) bool {
	for dr := int32(-1); dr <= 1; dr++ {
		for dc := int32(-1); dc <= 1; dc++ {
			if tallies[square{k[0] + dr, k[1] + dc}].surface() {
				return true
			}
		}
	}
	return false
}

func squareAt(p *Point) square {
	return square{floorDiv(p.X, noiseCell), floorDiv(p.Y, noiseCell)}
}

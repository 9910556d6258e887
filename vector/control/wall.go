package control

import (
	"math"

	"github.com/paulmach/orb"

	"quoin/vector"
)

// leastCross is the sine of the least angle at which two wall lines make a
// corner: below it their intersection runs away along them.
const leastCross = 0.1

// WallCorners returns the corners of the walls beneath a footprint's roof
// edges: the intersections of the wall lines of neighbouring sides, with their
// covariance relative to the cloud. Ring and Vertex are those of the roof
// corner between the two sides. A corner is there only where the walls of both
// sides are seen; walls elsewhere are not guessed. Elevations are NaN, as a
// wall is a line in plan.
//
// A wall line lies at the overhang inside of the edge. Its place comes from
// its own returns, so that the error of the roof edge, which the overhang's
// standard error holds, is taken out of it again. Its direction is the edge's:
// at the end of a side an error of direction moves it by half of the side's
// length, and sides of one fit share it.
func WallCorners(f vector.Footprint) []vector.Corner {
	var out []vector.Corner
	at := map[[2]int]vector.Corner{}
	last := map[int]int{}
	for _, c := range f.Corners {
		at[[2]int{c.Ring, c.Vertex}] = c
		last[c.Ring] = max(last[c.Ring], c.Vertex)
	}
	sides := map[[2]int]vector.Side{}
	for _, s := range f.Sides {
		sides[[2]int{s.Ring, s.Edge}] = s
	}
	for _, c := range f.Corners {
		n := last[c.Ring] + 1
		into, ok := sides[[2]int{c.Ring, (c.Vertex + n - 1) % n}]
		from, too := sides[[2]int{c.Ring, c.Vertex}]
		if !ok || !too {
			continue
		}
		a, seen := newWallLine(into, at[[2]int{c.Ring, into.Edge}], c)
		b, both := newWallLine(from, c, at[[2]int{c.Ring, (c.Vertex + 1) % n}])
		if !seen || !both {
			continue
		}
		if w, ok := a.meet(b, f.Adjustment); ok {
			w.BuildingID, w.Ring, w.Vertex, w.AngleDeg, w.Kind = c.BuildingID, c.Ring, c.Vertex, c.AngleDeg, vector.Adjusted
			out = append(out, w)
		}
	}
	return out
}

// A wallLine is n·x = c with n the outward unit normal.
type wallLine struct {
	n         orb.Point
	c         float64
	half      float64 // of the side's length
	direction int
	variance  float64 // of its place at the middle
	bound     float64 // of its place anywhere, where the direction's is unknown
}

// newWallLine returns the line of the wall beneath a side between two roof
// corners; false where it is not seen.
func newWallLine(s vector.Side, start, end vector.Corner) (wallLine, bool) {
	d := orb.Point{s.To[0] - s.From[0], s.To[1] - s.From[1]}
	length := math.Hypot(d[0], d[1])
	if math.IsNaN(s.Overhang+s.SigmaOverhang) || !(length > 0) {
		return wallLine{}, false
	}
	w := wallLine{n: orb.Point{d[1] / length, -d[0] / length}, half: length / 2, direction: s.Direction}
	w.c = w.n[0]*s.From[0] + w.n[1]*s.From[1] - s.Overhang
	edge := max(varianceAlong(start, w.n), varianceAlong(end, w.n))
	w.bound = s.SigmaOverhang * s.SigmaOverhang
	// Rounding must not make a line exact.
	w.variance = max(w.bound-edge, w.bound/100)
	return w, true
}

// varianceAlong is that of a corner along a unit vector.
func varianceAlong(c vector.Corner, n orb.Point) float64 {
	v := n[0]*n[0]*c.SigmaE*c.SigmaE + 2*n[0]*n[1]*c.CovEN + n[1]*n[1]*c.SigmaN*c.SigmaN
	if math.IsNaN(v) {
		return 0
	}
	return max(v, 0)
}

// meet returns the corner at the end of a and the start of b.
func (a wallLine) meet(b wallLine, fit *vector.Adjustment) (vector.Corner, bool) {
	cross := a.n[0]*b.n[1] - a.n[1]*b.n[0]
	if math.Abs(cross) < leastCross {
		return vector.Corner{}, false
	}
	va, vb, cov := a.bound, b.bound, 0.0
	if fit != nil && a.direction >= 0 && b.direction >= 0 {
		// A turn by δ moves the end of a by −half·δ along its normal, and the
		// start of b by +half·δ.
		va = a.variance + a.half*a.half*fit.Cov(a.direction, a.direction)
		vb = b.variance + b.half*b.half*fit.Cov(b.direction, b.direction)
		cov = -a.half * b.half * fit.Cov(a.direction, b.direction)
	}
	// x is linear in the places of both lines: x = p·ca + q·cb.
	p := orb.Point{b.n[1] / cross, -b.n[0] / cross}
	q := orb.Point{-a.n[1] / cross, a.n[0] / cross}
	form := func(i, k int) float64 { return p[i]*p[k]*va + (p[i]*q[k]+q[i]*p[k])*cov + q[i]*q[k]*vb }
	nan := math.NaN()
	return vector.Corner{
		Point:     orb.Point{p[0]*a.c + q[0]*b.c, p[1]*a.c + q[1]*b.c},
		Elevation: nan, SigmaU: nan,
		SigmaE: math.Sqrt(max(form(0, 0), 0)), SigmaN: math.Sqrt(max(form(1, 1), 0)), CovEN: form(0, 1),
	}, true
}

// wallsUnseen is the reason of a point that has no corner of walls near.
const wallsUnseen = "a wall corner, not comparable: the layer has no wall lines on both sides of it"

func near(corners []vector.Corner, p orb.Point, radius float64) bool {
	for _, c := range corners {
		if math.Hypot(c.Point[0]-p[0], c.Point[1]-p[1]) <= radius {
			return true
		}
	}
	return false
}

// MatchWallsInPlace compares the points on wall corners among checks, which
// Match gave for the same points, with the wall corners of a layer: one to one
// and within the radius, as Match does, blunders flagged among them. A point
// whose walls are not seen says so and stays without differences: a roof edge
// is no stand-in for a wall.
func MatchWallsInPlace(checks []vector.CornerCheck, points []Point, walls []vector.Corner, radius float64) {
	var shots []Point
	var of []int
	for i, p := range points {
		if p.Feature == WallCorner {
			p.Feature = RoofCorner // a corner of the layer it is matched in
			shots, of = append(shots, p), append(of, i)
		}
	}
	for k, c := range Match(walls, shots, radius) {
		c.Feature = string(WallCorner)
		if math.IsNaN(c.DeltaE) && !near(walls, c.Surveyed, radius) {
			c.Reason = wallsUnseen
		}
		c.DeltaU = math.NaN()
		checks[of[k]] = c
	}
}

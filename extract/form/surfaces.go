package form

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"

	"quoin/vector"
)

// leastPoints and leastArea are what a surface needs to make a part: smaller
// ones are details of what they stand on.
const (
	leastPoints = 10
	leastArea   = 3.0 // square metres
)

// findSurfaces describes the surfaces of the points, the largest first, and
// keeps the points on them. Surfaces of the same plane are one; those that no
// simple form explains are looked through for planes.
func (w *work) findSurfaces(points []Point) {
	var groups [][]Point
	for _, p := range points {
		if p.Surface < 0 {
			continue
		}
		for int(p.Surface) >= len(groups) {
			groups = append(groups, nil)
		}
		groups[p.Surface] = append(groups[p.Surface], p)
	}
	var found [][]Point
	for _, g := range groups {
		if !w.enough(len(g)) {
			continue
		}
		if s := w.describe(g); s.form == vector.FormFree {
			if planes := w.planesIn(g); planes != nil {
				found = append(found, planes...)
				continue
			}
		}
		found = append(found, g)
	}
	slices.SortStableFunc(found, func(a, b []Point) int { return cmp.Compare(len(b), len(a)) })
	for _, g := range w.merge(found) {
		for _, p := range g {
			p.Surface = int32(len(w.surfaces))
			w.points = append(w.points, p)
		}
		w.surfaces = append(w.surfaces, w.describe(g))
	}
}

// enough reports whether so many points make a part.
func (w *work) enough(n int) bool {
	s := w.measures.Spacing
	return n >= leastPoints && float64(n)*s*s >= leastArea
}

// merge joins the groups that lie on one plane, those parted by a dormer, a
// chimney or a strip without returns, and those that carry on a curved surface,
// as a dome's steep rim does. Each joins the largest that it fits.
func (w *work) merge(groups [][]Point) [][]Point {
	var out [][]Point
	var planes []surface
	for _, g := range groups {
		s := w.describe(g)
		at := slices.IndexFunc(planes, func(p surface) bool { return w.same(&p, &s, g) })
		if s.form != vector.FormPlane {
			at = w.onCurve(out, planes, g)
		}
		if at >= 0 {
			out[at] = append(out[at], g...)
			continue
		}
		out, planes = append(out, g), append(planes, s)
	}
	return out
}

// onCurve returns the place of the curved surface that points carry on: the
// one that keeps its form with them; −1 of none.
func (w *work) onCurve(groups [][]Point, surfaces []surface, points []Point) int {
	for k, s := range surfaces {
		if !s.curved() {
			continue
		}
		if both := w.describe(slices.Concat(groups[k], points)); both.form == s.form {
			return k
		}
	}
	return -1
}

// sameGradient bounds the difference of gradients of two pieces of one plane:
// 3 degrees across a level roof.
const sameGradient = 0.05

// same reports whether the points of a plane lie on another one.
func (w *work) same(p, q *surface, points []Point) bool {
	if p.form != vector.FormPlane || math.Hypot(p.plane.GX-q.plane.GX, p.plane.GY-q.plane.GY) > sameGradient {
		return false
	}
	tolerance := w.tolerance(p.plane.GX, p.plane.GY)
	return math.Abs(p.plane.At(q.plane.X, q.plane.Y)-q.plane.Z) <= tolerance && residual(points, p.plane.At) <= 1.5*tolerance
}

// The search for planes: at most so many, each through the best of so many
// triples, and all of them to explain most of the points. With a sixth of the
// points on a plane one of 200 triples is on it, and 600 miss it once in
// twenty.
const (
	mostPlanes  = 6
	tripleDraws = 600
	explained   = 0.9
)

// planesIn parts points of a surface by planes, the best first (Fischler &
// Bolles 1981, Communications of the ACM 24, 381–395); nil where no few planes
// explain them.
func (w *work) planesIn(points []Point) [][]Point {
	draw := rand.New(rand.NewPCG(1, 1)) // the same triples each time
	rest := points
	var planes [][]Point
	for range mostPlanes {
		if !w.enough(len(rest)) {
			break
		}
		on, off := w.bestPlane(rest, draw)
		if !w.enough(len(on)) {
			break
		}
		planes, rest = append(planes, on), off
	}
	if float64(len(rest)) > (1-explained)*float64(len(points)) {
		return nil
	}
	return planes
}

// trialPoints is the number of points that planes are tried on.
const trialPoints = 300

// bestPlane parts points into those on the plane that most lie on, and others.
func (w *work) bestPlane(points []Point, draw *rand.Rand) (on, off []Point) {
	step := max(len(points)/trialPoints, 1)
	var best Plane
	most := 0
	for range tripleDraws {
		triple := []Point{points[draw.IntN(len(points))], points[draw.IntN(len(points))], points[draw.IntN(len(points))]}
		p, rms := planeOf(triple)
		if rms > 1e-6 {
			continue // on a line
		}
		n, tolerance := 0, w.tolerance(p.GX, p.GY)
		for i := 0; i < len(points); i += step {
			if math.Abs(points[i].Z-p.At(points[i].X, points[i].Y)) <= tolerance {
				n++
			}
		}
		if n > most {
			best, most = p, n
		}
	}
	limit := 1.5 * w.tolerance(best.GX, best.GY)
	for _, p := range points {
		if most > 0 && math.Abs(p.Z-best.At(p.X, p.Y)) <= limit {
			on = append(on, p)
		} else {
			off = append(off, p)
		}
	}
	return on, off
}

package form

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"

	"quoin/vector"
	"quoin/vector/topology"
)

// What a surface needs to make a part: points, and an area in square metres or
// a share of the outline's, as of a shed. Smaller ones are details of what they
// stand on.
const (
	leastPoints = 8
	leastArea   = 3.0
	leastShare  = 0.15
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
	slices.SortStableFunc(groups, func(a, b []Point) int { return cmp.Compare(len(b), len(a)) })
	var found [][]Point
	for _, g := range groups {
		if w.enough(len(g)) {
			found = w.sort(found, g)
		}
	}
	slices.SortStableFunc(found, func(a, b []Point) int { return cmp.Compare(len(b), len(a)) })
	for _, g := range w.merge(found) {
		w.first = append(w.first, len(w.points))
		for _, p := range g {
			p.Surface = int32(len(w.surfaces))
			w.points = append(w.points, p)
		}
		w.surfaces = append(w.surfaces, w.describe(g))
	}
}

// sort adds the points of one surface to what was found: to the curved surface
// that they carry on, by the planes that explain them, or as they are.
func (w *work) sort(found [][]Point, g []Point) [][]Point {
	s := w.describe(g)
	if s.plane.Pitch() >= steep && rise(g) < leastRise {
		return found
	}
	if s.form == vector.FormPlane {
		return append(found, g)
	}
	if k := w.onCurve(found, g); k >= 0 {
		found[k] = append(found[k], g...)
		return found
	}
	if planes, rms := w.planesIn(g); planes != nil && (s.form == vector.FormFree || rms < clearly*s.rms) {
		return append(found, planes...)
	}
	return append(found, g)
}

// leastRise is how far a steep surface must rise, in metres, to be none of a
// parapet's.
const leastRise = 1.5

func rise(points []Point) float64 {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, p := range points {
		lo, hi = min(lo, p.Z), max(hi, p.Z)
	}
	return hi - lo
}

// clearly is the share of a curved surface's residual that planes must come
// below to be preferred to it.
const clearly = 0.75

// enough reports whether so many points make a part.
func (w *work) enough(n int) bool {
	s := w.measures.Spacing
	return n >= leastPoints && float64(n)*s*s >= min(leastArea, leastShare*topology.Area(w.outline))
}

// merge joins the groups that lie on one plane: those parted by a dormer, a
// chimney or a strip without returns. Each joins the largest that it fits.
func (w *work) merge(groups [][]Point) [][]Point {
	var out [][]Point
	var planes []surface
	for _, g := range groups {
		s := w.describe(g)
		at := slices.IndexFunc(planes, func(p surface) bool { return w.same(&p, &s, g) })
		if at >= 0 {
			out[at] = append(out[at], g...)
			continue
		}
		out, planes = append(out, g), append(planes, s)
	}
	return out
}

// onCurve returns the place of the curved surface that points carry on, as a
// dome's steep rim does: the one that keeps its form with them; −1 of none.
func (w *work) onCurve(groups [][]Point, points []Point) int {
	for k, g := range groups {
		s := w.describe(g)
		if !s.curved() {
			continue
		}
		if both := w.describe(slices.Concat(g, points)); both.form == s.form {
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
// twenty; an octagon's slopes need as many planes as it has sides.
const (
	mostPlanes  = 8
	tripleDraws = 600
	explained   = 0.9
)

// planesIn parts points of a surface by planes, the best first (Fischler &
// Bolles 1981, Communications of the ACM 24, 381–395), and returns their common
// residual; nil where no few planes explain them.
func (w *work) planesIn(points []Point) (planes [][]Point, rms float64) {
	draw := rand.New(rand.NewPCG(1, 1)) // the same triples each time
	rest := points
	sum, n := 0.0, 0
	for range mostPlanes {
		if !w.enough(len(rest)) {
			break
		}
		on, off := w.bestPlane(rest, draw)
		if !w.enough(len(on)) {
			break
		}
		_, r := planeOf(on)
		sum, n = sum+r*r*float64(len(on)), n+len(on)
		planes, rest = append(planes, on), off
	}
	if float64(len(rest)) > (1-explained)*float64(len(points)) {
		return nil, 0
	}
	return planes, math.Sqrt(sum / float64(n))
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

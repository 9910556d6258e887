// Package bound tells how well the corners of an outline can be known at best.
//
// The points around a roof edge are each known to be on the roof or beside it,
// and lie where they were reported to within a noise. How far an edge's offset
// can be told from that, whatever the method, follows from the number of points
// a metre across the edge, the noise, and the gaps that the pattern of the
// points leaves; corners follow from the edges that meet there, of which those
// square or parallel to each other share one unknown direction.
//
// Sources. Smooth part: the Cramér-Rao bound for a class that is a Gaussian
// blurred step, ∫φ²/(Φ(1−Φ)) = 1.8064. Hard part: the best estimate of a place
// of which only the interval is known, its middle (Pitman 1939, Biometrika
// 30:391–421). The joint V = (hard^1.5 + smooth^1.5)^(2/3) is within 3 % of
// simulation (docs/outline.md). Nothing here is shared with the estimator.
package bound

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/mat"
)

// A View is what is true of how one edge was seen. Lengths are metres.
type View struct {
	// Density is that of pulses, per square metre.
	Density float64
	// Sigma is the noise of a reported place per axis, Beam the half-width in
	// which a pulse is split by the edge; 0 for none.
	Sigma, Beam float64
	// Hidden is the share of the length outside of which nothing is seen.
	Hidden float64
	// Gaps are those between points projected on the edge's normal, where
	// their pattern is regular, so that an edge along the lines lies anywhere
	// within a gap; nil for a Poisson pattern. They count where they leave more
	// room than that does.
	Gaps []float64
}

// Variance returns the least variance of the offset of an edge of a length.
func (v View) Variance(length float64) float64 {
	seen, hidden := length*(1-v.Hidden), length*v.Hidden
	information := 0.0
	if seen > 1e-9 {
		information += 1 / v.twoSided(v.Density*seen)
	}
	if hidden > 1e-9 {
		information += 1 / v.oneSided(v.Density*hidden)
	}
	return 1 / information
}

// step is ∫φ²/(Φ(1−Φ)) over the real line: the information of one point a sigma
// about a blurred step, both sides seen.
const step = 1.8064

func (v View) twoSided(rate float64) float64 {
	hard := between(rate, v.Beam)
	if mean, _, cube := moments(v.Gaps); mean > 0 {
		hard = max(hard, cube/(12*mean))
	}
	smooth := v.Sigma / (rate * ordered(v.Beam, v.Sigma))
	return join(hard, smooth)
}

// oneSided is the variance from roof points alone whose density is known: the
// information is half as much, and the outermost point, moved out by the mean
// gap, is best where there is no noise.
func (v View) oneSided(rate float64) float64 {
	hard := 1 / (rate * rate)
	if mean, square, cube := moments(v.Gaps); mean > 0 {
		recurrence := square / (2 * mean)
		hard = max(hard, cube/(3*mean)-recurrence*recurrence)
	}
	return join(hard, 2*v.Sigma/(rate*step))
}

func join(a, b float64) float64 { return math.Pow(math.Pow(a, 1.5)+math.Pow(b, 1.5), 2.0/3) }

// moments are the mean, mean square and mean cube.
func moments(gaps []float64) (mean, square, cube float64) {
	n := float64(len(gaps))
	for _, g := range gaps {
		mean, square, cube = mean+g/n, square+g*g/n, cube+g*g*g/n
	}
	return mean, square, cube
}

// between is the variance of a place within its gap for a Poisson pattern of
// rate points a metre. With split pulses the chance that nothing bounds the edge
// within y on one side is exp(−rate·(y + min(y, 2f))); both sides are taken as
// independent.
func between(rate, beam float64) float64 {
	if beam == 0 {
		return 0.5 / (rate * rate)
	}
	far, kept := 2*beam, math.Exp(-4*rate*beam)
	mean := (1-kept)/(2*rate) + kept/rate
	square := 2 * ((1-kept*(1+4*rate*beam))/(4*rate*rate) + kept*(far/rate+1/(rate*rate)))
	return (square + mean*mean) / 6
}

// ordered is the information, times sigma over the rate, of three ordered
// classes parted at −f and +f: inside, split, outside. It is step for f = 0.
func ordered(beam, sigma float64) float64 {
	if beam == 0 || sigma == 0 {
		return step
	}
	f := beam / sigma
	const cells = 4000
	reach := f + 8
	width := 2 * reach / cells
	sum := 0.0
	for i := range cells {
		u := -reach + (float64(i)+0.5)*width
		in, out := normal(-u-f), normal(u-f)
		din, dout := -density(u+f), density(u-f)
		for _, c := range [3][2]float64{{in, din}, {out, dout}, {1 - in - out, -din - dout}} {
			if c[0] > 1e-12 {
				sum += c[1] * c[1] / c[0] * width
			}
		}
	}
	return sum
}

func normal(u float64) float64  { return math.Erfc(-u/math.Sqrt2) / 2 }
func density(u float64) float64 { return math.Exp(-u*u/2) / math.Sqrt(2*math.Pi) }

// ErrShape is returned for a plan that has no bound: rings of fewer than three
// vertices, or edges without a view.
var ErrShape = errors.New("rings of three or more vertices are needed, with a view for each edge")

// A Ring lists vertices, the first not repeated; edge i runs from vertex i to
// the next.
type Ring [][2]float64

// Corners returns for each corner of the rings, in order, the least variance of
// its place in plan: the sum of those along both axes, square metres. views has
// one entry for each edge in the same order. Edges parallel or square to each
// other, to a millionth of a radian, share a direction.
func Corners(rings []Ring, views []View) ([]float64, error) {
	edges, directions := edgesOf(rings)
	if len(edges) == 0 || len(edges) != len(views) {
		return nil, ErrShape
	}
	n := directions + len(edges)
	information := mat.NewSymDense(n, nil)
	for i, e := range edges {
		w := 1 / views[i].Variance(e.length)
		d := directions + i
		add := func(r, c int, v float64) { information.SetSym(r, c, information.At(r, c)+v) }
		add(d, d, w)
		add(e.direction, d, -w*e.middle)
		add(e.direction, e.direction, w*(e.middle*e.middle+e.length*e.length/12))
	}
	var factor mat.Cholesky
	if !factor.Factorize(information) {
		return nil, ErrShape
	}
	var covariance mat.SymDense
	if err := factor.InverseTo(&covariance); err != nil {
		return nil, err
	}
	var all []float64
	for i, e := range edges {
		all = append(all, corner(&covariance, directions, edges[e.before], e, e.before, i))
	}
	return all, nil
}

// An edge is a line n·x = d with n its outward normal; a turn of its direction
// by δ moves what lies t along it by −t·δ across.
type edge struct {
	x, y           float64 // where it begins
	nx, ny         float64
	length, middle float64 // middle is along the edge from the origin's foot
	direction      int
	before         int
}

func edgesOf(rings []Ring) (edges []edge, directions int) {
	var angles []float64
	for _, ring := range rings {
		if len(ring) < 3 {
			return nil, 0
		}
		first := len(edges)
		for i, a := range ring {
			b := ring[(i+1)%len(ring)]
			dx, dy := b[0]-a[0], b[1]-a[1]
			l := math.Hypot(dx, dy)
			e := edge{x: a[0], y: a[1], nx: dy / l, ny: -dx / l, length: l, before: first + (i+len(ring)-1)%len(ring)}
			e.middle = ((a[0]+b[0])*dx + (a[1]+b[1])*dy) / (2 * l)
			e.direction, angles = direction(angles, math.Atan2(dy, dx))
			edges = append(edges, e)
		}
	}
	return edges, len(angles)
}

func direction(angles []float64, angle float64) (int, []float64) {
	for i, a := range angles {
		if math.Abs(math.Remainder(angle-a, math.Pi/2)) < 1e-6 {
			return i, angles
		}
	}
	return len(angles), append(angles, angle)
}

// corner propagates to where edges a and b meet.
func corner(covariance mat.Symmetric, directions int, a, b edge, ia, ib int) float64 {
	cross := a.nx*b.ny - a.ny*b.nx
	ta, tb := -b.x*a.ny+b.y*a.nx, -b.x*b.ny+b.y*b.nx
	index := [4]int{directions + ia, a.direction, directions + ib, b.direction}
	jx := [4]float64{b.ny / cross, -ta * b.ny / cross, -a.ny / cross, tb * a.ny / cross}
	jy := [4]float64{-b.nx / cross, ta * b.nx / cross, a.nx / cross, -tb * a.nx / cross}
	sum := 0.0
	for i, p := range index {
		for k, q := range index {
			sum += (jx[i]*jx[k] + jy[i]*jy[k]) * covariance.At(p, q)
		}
	}
	return sum
}

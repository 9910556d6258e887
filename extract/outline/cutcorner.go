package outline

import "math"

const (
	// cutChance is the chance, before a corner is looked at, that it is cut off or filled in by a slant that was not found. Plans with slanted
	// corners are few: judgement, no source.
	cutChance = 0.005
	// cutReach is the longest slant's legs, in spacings: a triangle of twelve and a half points, which no fit misses.
	cutReach = 5
	cutSizes = 10
)

// cutCorner is the covariance that a corner has from not being known to be one: for slants of all sizes across it, the chance that
// what is seen about the corner comes of that (Bayes's theorem, as for strays) times the square of how far its two ends lie along a and b.
// Where points are few a slant of a spacing or two has no point in it, and says nothing. a ends in the corner, b begins there.
func (f *fitter) cutCorner(a, b *span) (xx, xy, yy float64) {
	cross := a.nx*b.ny - a.ny*b.nx
	if math.Abs(cross) < 0.5 {
		return 0, 0, 0 // blunt: a slant would be another bend of the same wall
	}
	s := f.measures.Spacing
	longest := min(cutReach*s, a.length()/2, b.length()/2)
	near := f.cornerReadings(a, b, longest)
	weight, sum, square := [cutSizes]float64{}, 1-cutChance, 0.0
	for k := range weight {
		legs := longest * (float64(k) + 0.5) / cutSizes
		gain := 0.0
		for i := range near {
			gain += near[i].gain(f, a, b, legs, cross > 0)
		}
		weight[k] = cutChance / cutSizes * math.Exp(gain)
		sum += weight[k]
		square += weight[k] * legs * legs
	}
	square /= 2 * sum // half of the chance for either end
	// along a backwards, along b forwards: the tangents are (-ny, nx)
	return square * (a.ny*a.ny + b.ny*b.ny), -square * (a.nx*a.ny + b.nx*b.ny), square * (a.nx*a.nx + b.nx*b.nx)
}

// A cornerReading is an observation about a corner: how far inside both edges it lies, and what it says.
type cornerReading struct {
	ha, hb float64
	x, y   float64 // from the corner
	side   Side
	single bool
}

func (f *fitter) cornerReadings(a, b *span, reach float64) []cornerReading {
	l := f.l
	w := l.around(a.bx, a.by, a.bx, a.by, reach+l.beam)
	three := l.classes() == 3
	var near []cornerReading
	for row := w.r0; row < w.r1; row++ {
		for col := w.c0; col < w.c1; col++ {
			c := row*l.cols + col
			for q := l.start[c]; q < l.start[c+1]; q++ {
				r := cornerReading{a.inward(l.x[q], l.y[q]), b.inward(l.x[q], l.y[q]), l.x[q] - a.bx, l.y[q] - a.by, l.side[q], f.measures.SplitsMerged || l.blind[q]}
				if r.side == Unknown || r.side == Split && !three && !r.single || math.Hypot(r.x, r.y) > reach {
					continue
				}
				near = append(near, r)
			}
		}
	}
	return near
}

// gain is by how much the logarithm of the probability of a reading rises when a slant whose legs have a length cuts the corner, or fills
// it where the corner is reflex.
func (r *cornerReading) gain(f *fitter, a, b *span, legs float64, convex bool) float64 {
	// the slant's normal halves the angle between those of the edges; it passes through the places at legs from the corner
	nx, ny := a.nx+b.nx, a.ny+b.ny
	n := math.Hypot(nx, ny)
	nx, ny = nx/n, ny/n
	d := -legs * math.Abs(a.nx*b.ny-a.ny*b.nx) / n
	if !convex {
		d = -d
	}
	hc := d - nx*r.x - ny*r.y
	p := f.sides(a)
	mass := func(grow float64) (square, cut float64) {
		ma, mb, mc := p.mass(r.ha+grow), p.mass(r.hb+grow), p.mass(hc+grow)
		if convex {
			return ma * mb, ma * mb * mc
		}
		return 1 - (1-ma)*(1-mb), 1 - (1-ma)*(1-mb)*(1-mc)
	}
	squareOut, cutOut := mass(p.beam)
	squareIn, cutIn := squareOut, cutOut
	if !r.single {
		squareIn, cutIn = mass(-p.beam)
	}
	return math.Log(p.chance(r.side, r.single, cutIn, cutOut) / p.chance(r.side, r.single, squareIn, squareOut))
}

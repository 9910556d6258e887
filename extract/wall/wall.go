// Package wall finds the line of a wall beneath an eave from the returns that
// the façade gave.
//
// A façade is a few returns in a narrow strip along the roof edge, among others
// from bushes, fences and the ground's slope. Whether there are more of them in
// one strip than chance explains is told by a scan statistic; where the wall
// lies, by a mixture of a Gaussian and a uniform density. The direction is that
// of the roof edge. Nothing is guessed: an edge without enough returns has no
// wall line.
package wall

import (
	"math"
	"slices"
)

// A Point is a return below the eave, in the frame of one edge of the roof's
// outline.
type Point struct {
	// Along is its place along the edge from the edge's start, Inward its
	// distance from the edge towards the inside of the building, Height that
	// above ground; metres.
	Along, Inward, Height float64
}

// A Side is what the façade below an edge shows. Lengths are metres.
type Side struct {
	// Overhang is the distance of the wall from the roof edge, positive where
	// the roof stands out.
	Overhang float64
	// Sigma is the standard error of the wall line about its returns; that of
	// the roof edge, which the overhang has as well, is not in it.
	Sigma float64
	// Points is the number of façade returns, Low and High the band of heights
	// above ground in which they lie.
	Points    int
	Low, High float64
}

const (
	// Inside and Outside are how far from the edge a wall is looked for. Eaves
	// of more than a metre and a half are rare (common practice, no source).
	Inside, Outside = 1.5, 0.3
	// Fewest is the number of façade returns below which a wall is not stated.
	Fewest = 10
	// Relief is the least standard error: reveals, bays and plinths of 5 to
	// 15 cm are no noise that more returns would average out.
	Relief = 0.02

	falseAlarms  = 0.01 // per edge, among returns strewn at random
	corner       = 0.75 // metres at both ends left to the next side's wall
	tallEnough   = 0.5  // metres of height a façade is seen over, or it is a bench
	broadEnough  = 1.0 / 3
	mostEMRounds = 100
)

// Find looks for the wall beneath an edge of a length, from the returns below
// the eave. sigma is the noise of positions in plan. ok is false where no wall is
// seen well enough: fewer than Fewest returns in it, no more of them than chance
// explains, or returns that stand together like a post or lie like a bench.
// Points outside of the band from Outside to Inside are left out; the order of
// points does not matter and they are not changed.
func Find(points []Point, length, sigma float64) (side Side, ok bool) {
	ends := min(corner, length/4)
	var near []Point
	for _, p := range points {
		if p.Inward > -Outside && p.Inward < Inside && p.Along > ends && p.Along < length-ends {
			near = append(near, p)
		}
	}
	slices.SortFunc(near, compare)
	sigma = max(sigma, 0.005)
	from, to, tail := densest(near, 4*sigma)
	if to-from < Fewest || tail*float64(len(near)) > falseAlarms {
		return Side{}, false
	}
	mean, spread, weight := refine(near, (near[from].Inward+near[to-1].Inward)/2, sigma)
	if weight < Fewest {
		return Side{}, false
	}
	side, broad := describe(near, mean, spread)
	if side.High-side.Low < tallEnough || broad < broadEnough*(length-2*ends) {
		return Side{}, false
	}
	side.Sigma = spread / math.Sqrt(weight)
	if weight < 20 {
		side.Sigma *= 1.2 // the spread itself is known little
	}
	side.Sigma = math.Hypot(side.Sigma, Relief)
	return side, true
}

func compare(a, b Point) int {
	for _, d := range [3]float64{a.Inward - b.Inward, a.Along - b.Along, a.Height - b.Height} {
		if d < 0 {
			return -1
		} else if d > 0 {
			return 1
		}
	}
	return 0
}

// densest returns the window of a width that holds most of the points, sorted
// by Inward, and the chance that a given window holds as many if points are
// strewn evenly.
func densest(points []Point, width float64) (from, to int, tail float64) {
	end := 0
	for i := range points {
		for end < len(points) && points[end].Inward <= points[i].Inward+width {
			end++
		}
		if end-i > to-from {
			from, to = i, end
		}
	}
	return from, to, binomialTail(len(points), to-from, min(width/(Inside+Outside), 1))
}

// binomialTail is the chance of k or more successes in n trials of chance p.
func binomialTail(n, k int, p float64) float64 {
	if k <= 0 || p >= 1 {
		return 1
	}
	ln := func(x int) float64 { v, _ := math.Lgamma(float64(x) + 1); return v }
	sum := 0.0
	for i := k; i <= n; i++ {
		sum += math.Exp(ln(n) - ln(i) - ln(n-i) + float64(i)*math.Log(p) + float64(n-i)*math.Log1p(-p))
	}
	return min(sum, 1)
}

// refine fits a Gaussian on an even background by expectation and maximisation
// (Dempster, Laird & Rubin 1977, JRSS B 39:1-38), and returns its mean, its
// standard deviation, half of sigma to twice it, and the points that are its.
func refine(points []Point, mean, sigma float64) (m, spread, weight float64) {
	m, spread = mean, sigma
	share := 0.5
	for range mostEMRounds {
		var w, first, second float64
		for _, p := range points {
			u := p.Inward - m
			wall := share * math.Exp(-u*u/(2*spread*spread)) / (spread * math.Sqrt(2*math.Pi))
			r := wall / (wall + (1-share)/(Inside+Outside))
			w, first, second = w+r, first+r*u, second+r*u*u
		}
		if w < 1 {
			return m, spread, w
		}
		step := first / w
		m += step
		spread = min(max(math.Sqrt(max(second/w-step*step, 0)), sigma/2), 2*sigma)
		share = min(w/float64(len(points)), 0.999)
		weight = w
		if math.Abs(step) < 1e-6 {
			break
		}
	}
	return m, spread, weight
}

// describe counts the points of a wall, within three standard deviations, and
// tells between which heights and over how much of the edge they lie.
func describe(points []Point, mean, spread float64) (s Side, broad float64) {
	s = Side{Overhang: mean, Low: math.Inf(1), High: math.Inf(-1)}
	first, last := math.Inf(1), math.Inf(-1)
	for _, p := range points {
		if math.Abs(p.Inward-mean) > 3*spread {
			continue
		}
		s.Points++
		s.Low, s.High = min(s.Low, p.Height), max(s.High, p.Height)
		first, last = min(first, p.Along), max(last, p.Along)
	}
	return s, last - first
}

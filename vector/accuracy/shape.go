package accuracy

import (
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"quoin/vector/topology"
)

// areaOf returns the common area of two valid polygons.
func areaOf(a, b orb.Polygon) (float64, error) {
	if !a.Bound().Intersects(b.Bound()) {
		return 0, nil
	}
	common, err := topology.Intersection(a, b)
	if err != nil {
		return 0, err
	}
	sum := 0.0
	for _, p := range common {
		sum += topology.Area(p)
	}
	return sum, nil
}

// IoU returns the common area of two valid polygons over that of both
// together, from 0 to 1.
func IoU(a, b orb.Polygon) (float64, error) {
	common, err := areaOf(a, b)
	if err != nil {
		return 0, fmt.Errorf("accuracy: intersection over union: %w", err)
	}
	return common / (topology.Area(a) + topology.Area(b) - common), nil
}

// PoLiS returns the mean distance of the vertices of each polygon from the
// boundary of the other, averaged over both (Avbelj, Müller and Bamler, IEEE
// Geoscience and Remote Sensing Letters 12(1), 2015, 170-174).
func PoLiS(a, b orb.Polygon) float64 {
	return meanToBoundary(a, b)/2 + meanToBoundary(b, a)/2
}

func meanToBoundary(a, b orb.Polygon) float64 {
	s := sides(b)
	sum, n := 0.0, 0
	for _, ring := range a {
		for _, p := range vertices(ring) {
			_, d := nearest(s, p)
			sum, n = sum+d, n+1
		}
	}
	return sum / float64(n)
}

// Hausdorff returns the Hausdorff distance of the boundaries of two polygons,
// to a micrometre.
func Hausdorff(a, b orb.Polygon) float64 {
	sa, sb := sides(a), sides(b)
	return max(farthest(sa, sb), farthest(sb, sa))
}

// farthest returns the largest distance of a place on the segments of a from
// those of b. The distance from one segment is convex along a line, so that on
// a stretch it is at most what it is at the ends; halving the stretches closes
// in on the largest.
func farthest(a, b []segment) float64 {
	const tolerance = 1e-6
	best := 0.0
	for _, s := range a {
		_, d := nearest(b, s.a)
		best = max(best, d)
	}
	var search func(s segment, i, j int, di, dj float64)
	search = func(s segment, i, j int, di, dj float64) {
		bound := min(max(di, b[i].distanceTo(s.b)), max(b[j].distanceTo(s.a), dj), (di+dj+s.length())/2)
		if bound <= best+tolerance {
			return
		}
		mid := s.at(0.5)
		k, dk := nearest(b, mid)
		best = max(best, dk)
		search(segment{s.a, mid}, i, k, di, dk)
		search(segment{mid, s.b}, k, j, dk, dj)
	}
	for _, s := range a {
		i, di := nearest(b, s.a)
		j, dj := nearest(b, s.b)
		search(s, i, j, di, dj)
	}
	return best
}

// rootMeanSquare returns the root of the mean of the squares; NaN of none.
func rootMeanSquare(v []float64) float64 {
	sum := 0.0
	for _, x := range v {
		sum += x * x
	}
	return math.Sqrt(sum / float64(len(v)))
}

// mean returns the mean; NaN of none.
func mean(v []float64) float64 {
	sum := 0.0
	for _, x := range v {
		sum += x
	}
	return sum / float64(len(v))
}

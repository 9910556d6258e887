package roof

import (
	"cmp"
	"slices"
)

// convexHull returns the corners of the convex hull of places, anticlockwise
// (Andrew 1979, Information Processing Letters 9, 216–219). Fewer than three
// places come back as they are. The places are sorted in place.
func convexHull(places [][2]float64) [][2]float64 {
	slices.SortFunc(places, func(a, b [2]float64) int {
		return cmp.Or(cmp.Compare(a[0], b[0]), cmp.Compare(a[1], b[1]))
	})
	places = slices.Compact(places)
	if len(places) < 3 {
		return places
	}
	hull := make([][2]float64, 0, 64)
	for _, p := range places {
		hull = push(hull, p, 1)
	}
	lower := len(hull)
	for i := len(places) - 2; i >= 0; i-- {
		hull = push(hull, places[i], lower)
	}
	return hull[:len(hull)-1]
}

// push adds a corner after taking away those that it makes turn right, but
// keeps the first so many.
func push(hull [][2]float64, p [2]float64, keep int) [][2]float64 {
	for len(hull) > keep && turn(hull[len(hull)-2], hull[len(hull)-1], p) <= 0 {
		hull = hull[:len(hull)-1]
	}
	return append(hull, p)
}

// turn is positive where a, b, c turn left.
func turn(a, b, c [2]float64) float64 {
	return (b[0]-a[0])*(c[1]-a[1]) - (b[1]-a[1])*(c[0]-a[0])
}

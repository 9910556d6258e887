package topology

import (
	"errors"
	"math"

	"github.com/paulmach/orb"
)

// Cut returns what of a polygon lies on the left and on the right of the line
// from a through b, each as none, one or several polygons; see Intersection for
// what they are like. It returns an error for a line without a direction and
// for coordinates that are not finite.
func Cut(p orb.Polygon, a, b orb.Point) (left, right orb.MultiPolygon, err error) {
	length := math.Hypot(b[0]-a[0], b[1]-a[1])
	if !(length > 0) || math.IsInf(length, 0) {
		return nil, nil, errors.New("topology: cut: the line has no direction")
	}
	tx, ty := (b[0]-a[0])/length, (b[1]-a[1])/length
	// The half plane is a rectangle that holds the polygon's part of it.
	lo, hi, reach := math.Inf(1), math.Inf(-1), 0.0
	for _, ring := range p {
		for _, q := range ring {
			along, across := (q[0]-a[0])*tx+(q[1]-a[1])*ty, (q[1]-a[1])*tx-(q[0]-a[0])*ty
			lo, hi, reach = min(lo, along), max(hi, along), max(reach, math.Abs(across))
		}
	}
	if lo > hi {
		return nil, nil, nil
	}
	lo, hi, reach = lo-1, hi+1, reach+1
	at := func(along, across float64) orb.Point {
		return orb.Point{a[0] + along*tx - across*ty, a[1] + along*ty + across*tx}
	}
	half := orb.Polygon{{at(lo, 0), at(hi, 0), at(hi, reach), at(lo, reach), at(lo, 0)}}
	if left, err = Intersection(p, half); err != nil {
		return nil, nil, err
	}
	right, err = Difference(p, half)
	return left, right, err
}

package form

import (
	"math"
	"slices"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"quoin/vector"
)

// curvedRange leaves the lowest and the highest hundredth of a curved part's
// points out of its eave and its ridge.
const curvedRange = 0.01

// measure gives the parts their points, and works out what follows from them.
func (w *work) measure(parts []Part) {
	for i := range parts {
		p := &parts[i]
		if p.surface < 0 {
			continue
		}
		s := &w.surfaces[p.surface]
		bound := p.Polygon.Bound()
		var ups []float64
		sum := 0.0
		for _, q := range w.on(p.surface) {
			at := orb.Point{q.X, q.Y}
			if !bound.Contains(at) || !contains(p.Polygon, at) {
				continue
			}
			e := q.Z - s.at(q.X, q.Y)
			sum += e * e
			ups = append(ups, q.Z)
		}
		p.Points = len(ups)
		if p.Points > 0 {
			p.RMS = math.Sqrt(sum / float64(p.Points))
		}
		p.extremes(ups)
		p.clip(ups, w.tolerance(p.Plane.GX, p.Plane.GY)+beyond*w.measures.Spacing*math.Hypot(p.Plane.GX, p.Plane.GY))
	}
}

// extremes sets eave, ridge and mean: of a plane those of its polygon.
func (p *Part) extremes(ups []float64) {
	if p.Form == vector.FormPlane {
		middle, _ := planar.CentroidArea(p.Polygon)
		p.mean = p.Plane.At(middle[0], middle[1])
		p.Eave, p.Ridge = math.Inf(1), math.Inf(-1)
		eachEdge(p.Polygon, func(a, _ orb.Point) {
			z := p.Plane.At(a[0], a[1])
			p.Eave, p.Ridge = min(p.Eave, z), max(p.Ridge, z)
		})
		return
	}
	if len(ups) > 0 {
		p.mean = 0
		for _, z := range ups {
			p.mean += z / float64(len(ups))
		}
		slices.Sort(ups)
		p.Eave, p.Ridge = ups[int(curvedRange*float64(len(ups)))], ups[int((1-curvedRange)*float64(len(ups)-1))]
	}
}

// contains reports whether a place is inside a polygon.
func contains(p orb.Polygon, q orb.Point) bool {
	odd := false
	eachEdge(p, func(a, b orb.Point) {
		if (a[1] <= q[1]) != (b[1] <= q[1]) && q[0] < a[0]+(q[1]-a[1])/(b[1]-a[1])*(b[0]-a[0]) {
			odd = !odd
		}
	})
	return odd
}

// beyond is how far a plane may reach beyond its outermost point, in spacings.
const beyond = 1.0

// clip keeps eave and ridge of a plane within what its points show: where a
// part is larger than its surface, its plane is not carried on to its end.
func (p *Part) clip(ups []float64, room float64) {
	if p.Form == vector.FormPlane && len(ups) > 0 {
		p.Eave = max(p.Eave, slices.Min(ups)-room)
		p.Ridge = min(p.Ridge, slices.Max(ups)+room)
	}
}

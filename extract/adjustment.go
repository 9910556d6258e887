package extract

import (
	"math"

	"quoin/extract/cloud"
	"quoin/extract/outline"
	"quoin/vector"
)

// adjustment returns the fit of the building in CRS units.
func (d *drawing) adjustment(frame cloud.Frame) *vector.Adjustment {
	r := d.adjusted
	a := &vector.Adjustment{
		Origin: frame.ToCRS(r.OriginX, r.OriginY), Directions: r.Directions,
		Observations: r.Near, LogLikelihood: r.LogLik, Iterations: r.Iterations,
	}
	for _, ring := range r.Rings {
		for i, e := range ring.Edges {
			if e.Arc > 0 {
				continue
			}
			n := normalOf(r, &e)
			v := ring.Vertices[i]
			a.Offsets = append(a.Offsets, (n[0]*(v.X-r.OriginX)+n[1]*(v.Y-r.OriginY))/frame.Horizontal)
		}
	}
	n, k := a.Parameters(), len(r.Directions)
	a.Covariance = make([]float64, 0, n*(n+1)/2)
	for i := range n {
		for j := i; j < n; j++ {
			c := r.Covariance[i*n+j]
			if i >= k {
				c /= frame.Horizontal
			}
			if j >= k {
				c /= frame.Horizontal
			}
			a.Covariance = append(a.Covariance, c)
		}
	}
	return a
}

// arcs returns the round parts in CRS units.
func (d *drawing) arcs(frame cloud.Frame) []vector.Arc {
	h := frame.Horizontal
	var list []vector.Arc
	for _, a := range d.adjusted.Arcs {
		list = append(list, vector.Arc{
			Ring: a.Ring, Centre: frame.ToCRS(a.X, a.Y), Radius: a.Radius / h,
			SigmaE: math.Sqrt(a.CovXX) / h, SigmaN: math.Sqrt(a.CovYY) / h, CovEN: a.CovXY / (h * h),
			SigmaRadius: a.SigmaRadius / h, SweepDeg: a.Sweep * 180 / math.Pi, ChordError: a.ChordError / h,
		})
	}
	return list
}

// normalOf is the outward unit normal of an edge of a fit.
func normalOf(r *outline.Result, e *outline.Edge) [2]float64 {
	s, c := math.Sincos(r.Directions[e.Direction])
	for range e.Quarter & 3 {
		s, c = c, -s
	}
	return [2]float64{c, s}
}

// A fittedOutline knows of each edge of a delivered outline which edge of the
// fit it lies on.
type fittedOutline struct {
	fit    *outline.Result
	ledges []ledge
	edges  []*outline.Edge // nil for none
	first  []int           // of each ring
	unit   float64         // metres per CRS unit
}

// onEdge is how far, in metres, a delivered edge may lie from the one that it
// came of: snapping moves it by less.
const onEdge = 5 * snapGrid

// fitted finds the edges of the fit that the delivered ones lie on. The lines
// looked at are those of the plan, which shared walls have moved.
func (d *drawing) fitted(frame cloud.Frame) *fittedOutline {
	o := &fittedOutline{fit: d.adjusted, ledges: ledges(frame, d.footprint.Polygon), unit: frame.Horizontal}
	o.edges = make([]*outline.Edge, len(o.ledges))
	for i := range o.ledges {
		o.edges[i] = d.edgeUnder(&o.ledges[i])
	}
	n := 0
	for _, ring := range d.footprint.Polygon {
		o.first = append(o.first, n)
		n += len(ring) - 1
	}
	return o
}

// edgeUnder returns the edge of the plan on which an edge lies, nil for none.
func (d *drawing) edgeUnder(l *ledge) *outline.Edge {
	for r := range d.plan.rings {
		ring := &d.plan.rings[r]
		for i, a := range ring.Vertices {
			b := ring.Vertices[(i+1)%len(ring.Vertices)]
			ta, ha := l.at(a.X, a.Y)
			tb, hb := l.at(b.X, b.Y)
			if ta < onEdge && tb > l.length-onEdge {
				// the distances of both ends of l from the line of the edge
				slope := (hb - ha) / (tb - ta)
				if math.Abs(ha-slope*ta) < onEdge && math.Abs(ha+slope*(l.length-ta)) < onEdge {
					return &ring.Edges[i]
				}
			}
		}
	}
	return nil
}

// around returns the delivered edges before and after one in its ring.
func (o *fittedOutline) around(ring, edge int) (before, at, after int) {
	n := len(o.ledges) - o.first[ring]
	if ring+1 < len(o.first) {
		n = o.first[ring+1] - o.first[ring]
	}
	return o.first[ring] + (edge+n-1)%n, o.first[ring] + edge, o.first[ring] + (edge+1)%n
}

// sigmaLength is the standard error, in CRS units, of the length of an edge:
// that of the distance between its corners, by the covariance of the parameters
// of the three edges that meet there. Where one of them is not of the fit the
// corners are taken as independent.
func (o *fittedOutline) sigmaLength(ring, edge int, from, to *vector.Corner) float64 {
	before, at, after := o.around(ring, edge)
	l := &o.ledges[at]
	first, second := make([]float64, o.parameters()), make([]float64, o.parameters())
	if !o.corner(first, before, at, [2]float64{-l.tx, -l.ty}) || !o.corner(second, at, after, [2]float64{l.tx, l.ty}) {
		return math.Sqrt(variance(from, l.tx, l.ty) + variance(to, l.tx, l.ty))
	}
	// what the corners have of their own beside the errors of the parameters
	own := max(variance(from, l.tx, l.ty)*o.unit*o.unit-o.propagate(first), 0) + max(variance(to, l.tx, l.ty)*o.unit*o.unit-o.propagate(second), 0)
	for i := range first {
		first[i] += second[i]
	}
	return math.Sqrt(o.propagate(first)+own) / o.unit
}

// sigmaArea is the standard error, in square metres, of the area; not ok where
// an edge is not of the fit. An edge that moves outward by one adds its length,
// one that turns shifts its middle.
func (o *fittedOutline) sigmaArea() (sigma float64, ok bool) {
	gradient := make([]float64, o.parameters())
	for i, e := range o.edges {
		if e == nil || e.Arc > 0 {
			return 0, false
		}
		l := &o.ledges[i]
		gradient[e.Parameter] += l.length
		gradient[e.Direction] -= l.length * (o.along(e, l.x, l.y) + l.length/2)
	}
	return math.Sqrt(o.propagate(gradient)), true
}

// corner adds to the gradient how the corner between edges a and b moves in a
// direction: of the line of each, an offset moves it by one and a direction by
// the corner's place along it. It reports false when an edge is not of the fit
// or the two do not meet.
func (o *fittedOutline) corner(gradient []float64, a, b int, direction [2]float64) bool {
	ea, eb := o.edges[a], o.edges[b]
	if ea == nil || eb == nil || ea.Arc > 0 || eb.Arc > 0 {
		return false
	}
	na, nb := normalOf(o.fit, ea), normalOf(o.fit, eb)
	cross := na[0]*nb[1] - na[1]*nb[0]
	if math.Abs(cross) < 1e-3 {
		return false
	}
	x, y := o.ledges[b].x, o.ledges[b].y
	byA := (direction[0]*nb[1] - direction[1]*nb[0]) / cross
	byB := (direction[1]*na[0] - direction[0]*na[1]) / cross
	gradient[ea.Parameter] += byA
	gradient[ea.Direction] -= byA * o.along(ea, x, y)
	gradient[eb.Parameter] += byB
	gradient[eb.Direction] -= byB * o.along(eb, x, y)
	return true
}

// along is the place of a point along an edge of the fit, from the foot of its
// origin.
func (o *fittedOutline) along(e *outline.Edge, x, y float64) float64 {
	n := normalOf(o.fit, e)
	return n[0]*(y-o.fit.OriginY) - n[1]*(x-o.fit.OriginX)
}

// propagate returns g·C·gᵀ.
func (o *fittedOutline) propagate(g []float64) float64 {
	sum := 0.0
	for i, a := range g {
		if a == 0 {
			continue
		}
		for j, b := range g {
			sum += a * b * o.fit.Covariance[i*len(g)+j]
		}
	}
	return max(sum, 0)
}

func (o *fittedOutline) parameters() int {
	n := len(o.fit.Directions)
	for _, r := range o.fit.Rings {
		for _, e := range r.Edges {
			if e.Arc == 0 {
				n++
			}
		}
	}
	return n
}

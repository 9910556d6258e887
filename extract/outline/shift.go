package outline

import "math"

// AddShift adds to the covariance an error that moves the whole outline as it is, with the given variance on each axis: it moves an edge
// by the part along its normal, and every vertex by all of it. Lengths and areas know nothing of it, nor does Edge.Sigma.
func (r *Result) AddShift(variance float64) {
	n := int(math.Round(math.Sqrt(float64(len(r.Covariance)))))
	nx, ny, place := r.normals(n)
	for i := range place {
		for k := range place {
			r.Covariance[place[i]*n+place[k]] += variance * (nx[i]*nx[k] + ny[i]*ny[k])
		}
	}
	for i := range r.Arcs {
		r.Arcs[i].CovXX += variance
		r.Arcs[i].CovYY += variance
	}
	for _, ring := range r.Rings {
		for i := range ring.Vertices {
			ring.Vertices[i].CovXX += variance
			ring.Vertices[i].CovYY += variance
		}
	}
}

// normals lists the outward normals of all edges and the places of their offsets among n parameters.
func (r *Result) normals(n int) (nx, ny []float64, place []int) {
	for _, ring := range r.Rings {
		for _, e := range ring.Edges {
			if e.Arc > 0 {
				continue
			}
			x, y := normal(r.Directions[e.Direction], e.Quarter)
			nx, ny, place = append(nx, x), append(ny, y), append(place, e.Parameter)
		}
	}
	return nx, ny, place
}

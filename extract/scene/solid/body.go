package solid

import "math"

// A Face bounds a body: inside is where N·p ≤ D. N is a unit vector.
type Face struct {
	N       Vec
	D       float64
	Surface Surface
}

// A Quadric bounds a body: inside is where Σ Sign[i]·u[i]² ≤ K, with
// u[i] = Axes[i]·(p − Centre). An ellipsoid has three axes of length 1/radius,
// a cylinder two and a zero one, a cone (K = 0) the signs 1, 1, -1.
type Quadric struct {
	Centre  Vec
	Axes    [3]Vec
	Sign    [3]float64
	K       float64
	Surface Surface
}

// Foliage fills a body with leaves: voxels of which a share is empty and the
// rest absorb at a given rate.
type Foliage struct {
	// Rate is the mean absorption in a voxel with leaves, per metre of path.
	Rate float64
	// Voxel is the size of a clump in metres.
	Voxel float64
	// Gap is the share of voxels without leaves.
	Gap float64
	// Key makes the clumps of one plant differ from another's.
	Key uint64
}

// A Body is a convex solid.
type Body struct {
	Faces   []Face
	Quadric *Quadric
	// Foliage is nil for an opaque body.
	Foliage *Foliage
	// Surface is what a ray meets inside foliage.
	Surface Surface
	// Object is the number of the thing the body is part of; see World.
	Object int32
	// Box must hold the body.
	Box Box
}

// A Ray runs from Origin along the unit vector Dir.
type Ray struct{ Origin, Dir Vec }

// At returns the position at distance t.
func (r Ray) At(t float64) Vec { return r.Origin.Add(r.Dir.Scale(t)) }

// A Hit is where a ray meets the world.
type Hit struct {
	// T is the distance along the ray.
	T float64
	// Normal points out of what was met; for foliage, against the ray.
	Normal  Vec
	Surface Surface
	// Object is that of the body; Ground for the terrain.
	Object int32
}

// Ground is the object number of the terrain.
const Ground int32 = -1

// span returns where the ray is inside the body and the face it enters by;
// face is -1 for the quadric. ok is false when it misses.
func (b *Body) span(r Ray) (in, out float64, face int, ok bool) {
	in, out, face = 0, math.Inf(1), -2
	if b.Quadric != nil {
		in, out, ok = b.Quadric.span(r)
		if !ok || out <= 0 {
			return 0, 0, 0, false
		}
		face = -1
	}
	for i := range b.Faces {
		f := &b.Faces[i]
		speed := f.N.Dot(r.Dir)
		room := f.D - f.N.Dot(r.Origin)
		switch {
		case speed > 0:
			if t := room / speed; t < out {
				out = t
			}
		case speed < 0:
			if t := room / speed; t > in {
				in, face = t, i
			}
		case room < 0:
			return 0, 0, 0, false
		}
		if in >= out {
			return 0, 0, 0, false
		}
	}
	return in, out, face, true
}

// span returns the interval of the ray inside the quadric. For a cone of which
// the ray meets both halves it is the later one.
func (q *Quadric) span(r Ray) (in, out float64, ok bool) {
	var a, b, c float64
	o := r.Origin.Sub(q.Centre)
	for i := range 3 {
		p, d := q.Axes[i].Dot(o), q.Axes[i].Dot(r.Dir)
		a += q.Sign[i] * d * d
		b += q.Sign[i] * p * d
		c += q.Sign[i] * p * p
	}
	c -= q.K
	if math.Abs(a) < 1e-12 {
		return math.Inf(-1), math.Inf(1), c <= 0
	}
	disc := b*b - a*c
	if disc < 0 {
		return 0, 0, false
	}
	root := math.Sqrt(disc)
	if a > 0 {
		return (-b - root) / a, (-b + root) / a, true
	}
	return (-b - root) / a, math.Inf(1), true
}

// normal returns the quadric's outward normal at p.
func (q *Quadric) normal(p Vec) Vec {
	var n Vec
	o := p.Sub(q.Centre)
	for i := range 3 {
		n = n.Add(q.Axes[i].Scale(q.Sign[i] * q.Axes[i].Dot(o)))
	}
	return n.Unit()
}

// meet returns where the ray is stopped by the body before distance limit.
// depth is the optical depth at which foliage stops this ray.
func (b *Body) meet(r Ray, depth, limit float64) (Hit, bool) {
	in, out, face, ok := b.span(r)
	if !ok || in >= limit {
		return Hit{}, false
	}
	if b.Foliage != nil {
		t, ok := b.Foliage.stop(r, max(in, 0), min(out, limit), depth)
		return Hit{t, r.Dir.Scale(-1), b.Surface, b.Object}, ok
	}
	switch {
	case face >= 0:
		return Hit{in, b.Faces[face].N, b.Faces[face].Surface, b.Object}, true
	case face == -1 && in > 0:
		return Hit{in, b.Quadric.normal(r.At(in)), b.Quadric.Surface, b.Object}, true
	}
	return Hit{}, false // the ray starts inside: nothing is in front of it
}

package ground

import (
	"math"
	"math/bits"
)

// A tin is a Delaunay triangulation of points in the plane with heights,
// built by inserting one at a time and flipping edges (Lawson 1977).
//
// Positions are whole steps (packed coordinates about the window's origin), so
// the predicates are exact: no set of points, however regular, can break it.
type tin struct {
	x, y []int32
	z    []float64
	// tri holds the corners of each triangle counter-clockwise; next holds the
	// triangle across the edge opposite each corner, -1 outside.
	tri, next [][3]int32
	stack     []int32
}

// newTin returns a triangulation of the rectangle from (0,0) to (w,h) grown by
// one margin, into which points inside can be inserted.
func newTin(w, h, margin int32, capacity int) *tin {
	t := &tin{
		x: make([]int32, 0, capacity+4), y: make([]int32, 0, capacity+4), z: make([]float64, 0, capacity+4),
		tri: make([][3]int32, 0, 2*capacity+2), next: make([][3]int32, 0, 2*capacity+2),
	}
	t.x = append(t.x, -margin, w+margin, w+margin, -margin)
	t.y = append(t.y, -margin, -margin, h+margin, h+margin)
	t.z = append(t.z, 0, 0, 0, 0)
	t.tri = append(t.tri, [3]int32{0, 1, 2}, [3]int32{0, 2, 3})
	t.next = append(t.next, [3]int32{-1, 1, -1}, [3]int32{-1, -1, 0})
	return t
}

// turn is positive when c lies to the left of the line from a to b. Positions
// are below 2^30 apart, so the products fit in 64 bits.
func (t *tin) turn(a, b int32, cx, cy int32) int64 {
	ax, ay := int64(t.x[a]), int64(t.y[a])
	return (int64(t.x[b])-ax)*(int64(cy)-ay) - (int64(t.y[b])-ay)*(int64(cx)-ax)
}

// locate returns the triangle that holds a position, walking from a triangle
// near it. The walk ends: in a Delaunay triangulation no cycle is possible
// (Edelsbrunner 1990).
func (t *tin) locate(x, y, from int32) int32 {
walk:
	for {
		v := &t.tri[from]
		for k := range 3 {
			if t.turn(v[(k+1)%3], v[(k+2)%3], x, y) < 0 {
				if across := t.next[from][k]; across >= 0 {
					from = across
					continue walk
				}
			}
		}
		return from
	}
}

// insert adds a point inside the rectangle and returns a triangle at it, as a
// start for walks. A position that is taken already is left as it is.
func (t *tin) insert(x, y int32, z float64, near int32) int32 {
	at := t.locate(x, y, near)
	v := t.tri[at]
	edge := -1
	for k := range 3 {
		if t.x[v[k]] == x && t.y[v[k]] == y {
			return at
		}
		if t.turn(v[(k+1)%3], v[(k+2)%3], x, y) == 0 {
			edge = k
		}
	}
	p := int32(len(t.x))
	t.x, t.y, t.z = append(t.x, x), append(t.y, y), append(t.z, z)
	if edge < 0 {
		t.splitFace(at, p)
	} else {
		t.splitEdge(at, edge, p)
	}
	t.flip(p)
	return at
}

// splitFace replaces a triangle by three about a point inside it.
func (t *tin) splitFace(at, p int32) {
	v, n := t.tri[at], t.next[at]
	b := int32(len(t.tri))
	c := b + 1
	t.tri[at], t.next[at] = [3]int32{p, v[1], v[2]}, [3]int32{n[0], b, c}
	t.tri = append(t.tri, [3]int32{p, v[2], v[0]}, [3]int32{p, v[0], v[1]})
	t.next = append(t.next, [3]int32{n[1], c, at}, [3]int32{n[2], at, b})
	t.relink(n[1], at, b)
	t.relink(n[2], at, c)
	t.stack = append(t.stack, at, b, c)
}

// splitEdge replaces the two triangles at an edge by four about a point on it.
// The rectangle's own edges have no points on them.
func (t *tin) splitEdge(at int32, k int, p int32) {
	other := t.next[at][k]
	v, n := rotate(t.tri[at], k), rotate(t.next[at], k)
	j := t.cornerFacing(other, at)
	w, m := rotate(t.tri[other], j), rotate(t.next[other], j)
	// v[1] = w[2] and v[2] = w[1] are the ends of the edge.
	b := int32(len(t.tri))
	c := b + 1
	t.tri[at], t.next[at] = [3]int32{p, v[0], v[1]}, [3]int32{n[2], c, b}
	t.tri = append(t.tri, [3]int32{p, v[2], v[0]})
	t.next = append(t.next, [3]int32{n[1], at, other})
	t.tri[other], t.next[other] = [3]int32{p, w[0], w[1]}, [3]int32{m[2], b, c}
	t.tri = append(t.tri, [3]int32{p, w[2], w[0]})
	t.next = append(t.next, [3]int32{m[1], other, at})
	t.relink(n[1], at, b)
	t.relink(m[1], other, c)
	t.stack = append(t.stack, at, b, other, c)
}

func rotate(v [3]int32, k int) [3]int32 { return [3]int32{v[k], v[(k+1)%3], v[(k+2)%3]} }

// relink makes a neighbour point at the triangle that took another's place.
func (t *tin) relink(at, was, is int32) {
	if at < 0 {
		return
	}
	for k := range 3 {
		if t.next[at][k] == was {
			t.next[at][k] = is
			return
		}
	}
}

// cornerFacing returns the corner of a triangle opposite the edge it shares
// with another.
func (t *tin) cornerFacing(at, other int32) int {
	for k := range 2 {
		if t.next[at][k] == other {
			return k
		}
	}
	return 2
}

// flip restores the empty circles about a new point. Triangles on the stack
// have the point as their first corner.
func (t *tin) flip(p int32) {
	for len(t.stack) > 0 {
		at := t.stack[len(t.stack)-1]
		t.stack = t.stack[:len(t.stack)-1]
		other := t.next[at][0]
		if other < 0 {
			continue
		}
		j := t.cornerFacing(other, at)
		far := t.tri[other][j]
		v, n := t.tri[at], t.next[at]
		if !t.inCircle(v[0], v[1], v[2], far) {
			continue
		}
		m := rotate(t.next[other], j)
		// The edge v1–v2 becomes p–far.
		t.tri[at], t.next[at] = [3]int32{p, v[1], far}, [3]int32{m[1], other, n[2]}
		t.tri[other], t.next[other] = [3]int32{p, far, v[2]}, [3]int32{m[2], n[1], at}
		t.relink(m[1], other, at)
		t.relink(n[1], at, other)
		t.stack = append(t.stack, at, other)
	}
}

// inCircle reports whether d lies within the circle through a, b and c, which
// are counter-clockwise. Sums and products below 2^53 are exact in floats; the
// rest has a bound on its error, within which integers of 128 bits decide.
func (t *tin) inCircle(a, b, c, d int32) bool {
	adx, ady := int64(t.x[a])-int64(t.x[d]), int64(t.y[a])-int64(t.y[d])
	bdx, bdy := int64(t.x[b])-int64(t.x[d]), int64(t.y[b])-int64(t.y[d])
	cdx, cdy := int64(t.x[c])-int64(t.x[d]), int64(t.y[c])-int64(t.y[d])
	bc, ca, ab := bdx*cdy-cdx*bdy, cdx*ady-adx*cdy, adx*bdy-bdx*ady
	as, bs, cs := adx*adx+ady*ady, bdx*bdx+bdy*bdy, cdx*cdx+cdy*cdy
	fa, fb, fc := float64(as)*float64(bc), float64(bs)*float64(ca), float64(cs)*float64(ab)
	// Each product has three roundings, the sum two more: 8 units in the last
	// place of the magnitudes bound them all.
	det, bound := fa+fb+fc, 0x1p-50*(math.Abs(fa)+math.Abs(fb)+math.Abs(fc))
	if det > bound || det < -bound {
		return det > 0
	}
	hi, lo := mul128(as, bc)
	for _, f := range [2][2]int64{{bs, ca}, {cs, ab}} {
		h, l := mul128(f[0], f[1])
		var carry uint64
		lo, carry = bits.Add64(lo, l, 0)
		hi += h + int64(carry)
	}
	return hi > 0 || hi == 0 && lo > 0
}

// mul128 returns the 128 bits of a product in two's complement.
func mul128(a, b int64) (hi int64, lo uint64) {
	h, l := bits.Mul64(uint64(a), uint64(b))
	hi = int64(h)
	if a < 0 {
		hi -= b
	}
	if b < 0 {
		hi -= a
	}
	return hi, l
}

// A facet is the plane of a triangle: its height at the window's position
// (x, y) in steps is z + gx·x + gy·y.
type facet struct{ z, gx, gy float64 }

// plane returns a triangle's facet.
func (t *tin) plane(at int32) facet {
	v := &t.tri[at]
	x0, y0, z0 := float64(t.x[v[0]]), float64(t.y[v[0]]), t.z[v[0]]
	ux, uy, uz := float64(t.x[v[1]])-x0, float64(t.y[v[1]])-y0, t.z[v[1]]-z0
	wx, wy, wz := float64(t.x[v[2]])-x0, float64(t.y[v[2]])-y0, t.z[v[2]]-z0
	det := ux*wy - wx*uy
	gx, gy := (uz*wy-wz*uy)/det, (ux*wz-wx*uz)/det
	return facet{z0 - gx*x0 - gy*y0, gx, gy}
}

func (f facet) at(x, y int32) float64 { return f.z + f.gx*float64(x) + f.gy*float64(y) }

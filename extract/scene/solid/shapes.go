package solid

import "math"

// A Point is a position in plan, in metres: east, north.
type Point struct{ X, Y float64 }

// Add returns p + q.
func (p Point) Add(q Point) Point { return Point{p.X + q.X, p.Y + q.Y} }

// Sub returns p − q.
func (p Point) Sub(q Point) Point { return Point{p.X - q.X, p.Y - q.Y} }

// Scale returns f·p.
func (p Point) Scale(f float64) Point { return Point{f * p.X, f * p.Y} }

// Dot returns the scalar product.
func (p Point) Dot(q Point) float64 { return p.X*q.X + p.Y*q.Y }

// Cross returns the vertical part of the vector product.
func (p Point) Cross(q Point) float64 { return p.X*q.Y - p.Y*q.X }

// Length returns |p|.
func (p Point) Length() float64 { return math.Hypot(p.X, p.Y) }

// Up returns the position at elevation z.
func (p Point) Up(z float64) Vec { return Vec{p.X, p.Y, z} }

// A Slope is a plane that is no wall: z = Z + A·x + B·y.
type Slope struct{ Z, A, B float64 }

// At returns the elevation of the plane at p.
func (s Slope) At(p Point) float64 { return s.Z + s.A*p.X + s.B*p.Y }

// Raised returns the plane moved up by h.
func (s Slope) Raised(h float64) Slope { return Slope{s.Z + h, s.A, s.B} }

// Level returns the level plane at z.
func Level(z float64) Slope { return Slope{Z: z} }

// Under returns the face of a body that ends below s.
func (s Slope) Under(surface Surface) Face {
	l := math.Sqrt(1 + s.A*s.A + s.B*s.B)
	return Face{Vec{-s.A / l, -s.B / l, 1 / l}, s.Z / l, surface}
}

// Over returns the face of a body that ends above s.
func (s Slope) Over(surface Surface) Face {
	f := s.Under(surface)
	return Face{f.N.Scale(-1), -f.D, surface}
}

// Beside returns the vertical faces of the column over a convex polygon given
// counter-clockwise.
func Beside(polygon []Point, surface Surface) []Face {
	faces := make([]Face, 0, len(polygon)+4)
	for i, p := range polygon {
		q := polygon[(i+1)%len(polygon)]
		d := q.Sub(p)
		l := d.Length()
		if l == 0 {
			continue
		}
		n := Vec{d.Y / l, -d.X / l, 0}
		faces = append(faces, Face{n, n.X*p.X + n.Y*p.Y, surface})
	}
	return faces
}

// Prism returns the opaque body over a convex counter-clockwise polygon,
// between bottom and the lowest of the tops. side and top are its surfaces.
func Prism(polygon []Point, bottom Slope, tops []Slope, side, top Surface) Body {
	b := Body{Faces: append(Beside(polygon, side), bottom.Over(side)), Box: emptyBox()}
	for _, s := range tops {
		b.Faces = append(b.Faces, s.Under(top))
	}
	for _, p := range polygon {
		b.Box = b.Box.with(p.Up(bottom.At(p)))
	}
	b.Box.Max.Z = max(b.Box.Max.Z, crest(polygon, tops))
	return b
}

// crest returns a bound on the lowest of the tops over a polygon: the least,
// over the planes, of a plane's highest vertex.
func crest(polygon []Point, tops []Slope) float64 {
	bound := math.Inf(1)
	for _, s := range tops {
		high := math.Inf(-1)
		for _, p := range polygon {
			high = max(high, s.At(p))
		}
		bound = min(bound, high)
	}
	return bound
}

// Rectangle returns the corners of a rectangle, counter-clockwise: length runs
// along the heading (radians from east), width across it.
func Rectangle(centre Point, length, width, heading float64) []Point {
	c, s := math.Cos(heading), math.Sin(heading)
	at := func(u, v float64) Point { return Point{centre.X + u*c - v*s, centre.Y + u*s + v*c} }
	l, w := length/2, width/2
	return []Point{at(-l, -w), at(l, -w), at(l, w), at(-l, w)}
}

// Block returns the opaque box over a rectangle.
func Block(plan []Point, bottom, top float64, surface Surface) Body {
	return Prism(plan, Level(bottom), []Slope{Level(top)}, surface, surface)
}

// Cylinder returns an upright opaque cylinder.
func Cylinder(centre Point, radius, bottom, top float64, side, lid Surface) Body {
	r := 1 / radius
	return Body{
		Quadric: &Quadric{
			Centre: centre.Up(0), Axes: [3]Vec{{X: r}, {Y: r}}, Sign: [3]float64{1, 1, 1}, K: 1, Surface: side,
		},
		Faces: []Face{Level(bottom).Over(side), Level(top).Under(lid)},
		Box:   Box{Vec{centre.X - radius, centre.Y - radius, bottom}, Vec{centre.X + radius, centre.Y + radius, top}},
	}
}

// Cone returns an upright opaque cone over a level base.
func Cone(centre Point, radius, base, apex float64, surface Surface) Body {
	r := 1 / radius
	return Body{
		Quadric: &Quadric{
			Centre: centre.Up(apex), Axes: [3]Vec{{X: r}, {Y: r}, {Z: 1 / (apex - base)}},
			Sign: [3]float64{1, 1, -1}, Surface: surface,
		},
		Faces: []Face{Level(base).Over(surface), Level(apex).Under(surface)},
		Box:   Box{Vec{centre.X - radius, centre.Y - radius, base}, Vec{centre.X + radius, centre.Y + radius, apex}},
	}
}

// Ellipsoid returns an ellipsoid with level axes; radii are along x, y, z.
func Ellipsoid(centre, radii Vec, surface Surface) Body {
	return Body{
		Quadric: &Quadric{
			Centre: centre, Axes: [3]Vec{{X: 1 / radii.X}, {Y: 1 / radii.Y}, {Z: 1 / radii.Z}},
			Sign: [3]float64{1, 1, 1}, K: 1, Surface: surface,
		},
		Surface: surface,
		Box:     Box{centre.Sub(radii), centre.Add(radii)},
	}
}

// Rod returns a straight round bar between two positions.
func Rod(from, to Vec, radius float64, surface Surface) Body {
	d := to.Sub(from).Unit()
	u := d.Cross(Vec{Z: 1})
	if u.Length() < 1e-6 {
		u = d.Cross(Vec{X: 1})
	}
	u = u.Unit()
	v := d.Cross(u)
	r := Vec{radius, radius, radius}
	box := emptyBox().with(from.Sub(r)).with(from.Add(r)).with(to.Sub(r)).with(to.Add(r))
	return Body{
		Quadric: &Quadric{
			Centre: from, Axes: [3]Vec{u.Scale(1 / radius), v.Scale(1 / radius)},
			Sign: [3]float64{1, 1, 1}, K: 1, Surface: surface,
		},
		Faces: []Face{{d.Scale(-1), -d.Dot(from), surface}, {d, d.Dot(to), surface}},
		Box:   box,
	}
}

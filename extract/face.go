package extract

import (
	"math"

	"quoin/extract/cloud"
)

const (
	// faceDepth is how far below the roof, in standard deviations of the noise
	// in height, a return at the edge lies on the face beneath the edge.
	faceDepth = 3
	// faceBehind is how far behind a face, in metres, the top of a parapet is
	// looked for.
	faceBehind = 0.5
	// faceThickness is the standard deviation of places across a face, in metres,
	// that noise and the relief of a façade do not reach: a strip of roof a third
	// of a metre wide has it.
	faceThickness = 0.1
	// faceTilt is the tangent of the angle from nadir below which a ray shows
	// no face.
	faceTilt = 0.03
)

// faces finds the returns that the roof stage took for roof and that lie on the
// face just beneath the roof's edge: on a wall, a fascia, the outer side of a
// parapet. Their rays passed the edge, so they say that it lies further in, by
// as much as they are low. Left among the roof's they would push every edge
// that is seen from its own side outward.
//
// It returns them by their numbers in the block, and the roof without them.
func (s *surroundings) faces(shape *roofShape) (map[int32]bool, *roofShape) {
	var found map[int32]bool
	for k, i := range shape.points {
		p := &s.block.Points[i]
		if dx, dy, ok := s.bearing(p); ok && s.onFace(shape, k, p, dx, dy) {
			if found == nil {
				found = make(map[int32]bool)
			}
			found[i] = true
		}
	}
	if found == nil {
		return nil, shape
	}
	return found, shape.without(found)
}

// bearing is the unit vector from a return to the sensor, seen from above; not
// ok when that is unknown or all but overhead.
func (s *surroundings) bearing(p *cloud.Point) (dx, dy float64, ok bool) {
	x, y, up, known := s.path.At(p.Source, p.Tick())
	if !known || up <= p.Up() {
		return 0, 0, false
	}
	dx, dy = x-p.East(), y-p.North()
	length := math.Hypot(dx, dy)
	return dx / length, dy / length, length >= faceTilt*(up-p.Up())
}

// onFace reports whether roof point k is low for the edge of a roof, with the
// sensor in the direction (dx, dy).
func (s *surroundings) onFace(shape *roofShape, k int, p *cloud.Point, dx, dy float64) bool {
	if s.roofAhead(shape, p, dx, dy) || shape.slopeAt(k).steep {
		return false
	}
	low := faceDepth * s.measures.SigmaZ
	higher := 0
	var behind [][3]float64
	for _, n := range shape.around(p) {
		along, across := n.at[0]*dx+n.at[1]*dy, n.at[1]*dx-n.at[0]*dy
		if along < -s.measures.Spacing/4 {
			behind = append(behind, n.at)
		}
		if along < 0 && along > -faceBehind && math.Abs(across) < faceBehind && n.at[2] > low && shape.slopeAt(int(n.k)).level {
			higher++
		}
	}
	if higher > 1 {
		return true
	}
	if shape.slopeAt(k).level || len(behind) < 6 {
		return false
	}
	// Not the plane about the point, which faces have a part in.
	above, gx, gy, ok := fitPlane(mostOnAPlane(behind, low, steepest))
	if !ok || above <= low || above >= 2*shape.rough {
		return false
	}
	// What is low together with the point stands upright on a face, and is wide
	// on a roof that bends down towards its edge, as a mansard does.
	var with [][3]float64
	for _, n := range shape.around(p) {
		if above+gx*n.at[0]+gy*n.at[1]-n.at[2] > low {
			with = append(with, n.at)
		}
	}
	return thickness(with) < faceThickness
}

// thickness is the standard deviation of places seen from above across the
// direction in which they spread most.
func thickness(points [][3]float64) float64 {
	var mx, my float64
	n := float64(len(points))
	for _, p := range points {
		mx, my = mx+p[0]/n, my+p[1]/n
	}
	var xx, xy, yy float64
	for _, p := range points {
		x, y := p[0]-mx, p[1]-my
		xx, xy, yy = xx+x*x/n, xy+x*y/n, yy+y*y/n
	}
	return math.Sqrt(max((xx+yy)/2-math.Hypot((xx-yy)/2, xy), 0))
}

// roofAhead reports whether a roof goes on from a place in a direction.
func (s *surroundings) roofAhead(shape *roofShape, p *cloud.Point, dx, dy float64) bool {
	ahead := max(faceBehind, 2*s.measures.Spacing) + shape.grid.Cell
	if shape.occupied(p.East()+ahead*dx, p.North()+ahead*dy) {
		return true
	}
	for _, n := range shape.around(p) {
		along, across := n.at[0]*dx+n.at[1]*dy, n.at[1]*dx-n.at[0]*dy
		if along > max(0.05, s.measures.Spacing/2) && math.Abs(across) < along {
			return true
		}
	}
	return false
}

// occupied reports whether the cell of a place holds roof points.
func (r *roofShape) occupied(x, y float64) bool {
	cell, ok := r.grid.Index(x, y)
	return ok && r.start[cell] < r.start[cell+1]
}

// without returns the shape less some of its points, with the planes about the
// rest as they are.
func (r *roofShape) without(gone map[int32]bool) *roofShape {
	rest := *r
	rest.points, rest.planes = nil, nil
	for k, i := range r.points {
		if !gone[i] {
			rest.points, rest.planes = append(rest.points, i), append(rest.planes, r.planes[k])
		}
	}
	if len(rest.points) == 0 {
		return r
	}
	rest.bin()
	rest.source = nearestOccupied(rest.grid, func(cell int) bool { return rest.start[cell] < rest.start[cell+1] })
	return &rest
}

// A flushSides knows along which sides of a roof a face stands flush with the
// edge, by the returns from the uppermost part of the face.
type flushSides struct {
	cloud.Grid
	cells [][]faceReturn
	// about counts the returns in each cell and the eight around it.
	about []int32
}

// A faceReturn is the place of a return from a face and the bearing of the
// sensor.
type faceReturn struct{ x, y, dx, dy float64 }

// flushSides gathers those returns: the faces that the roof stage took for roof, and single
// returns from walls beneath.
func (s *surroundings) flushSides(faces map[int32]bool, shape *roofShape) *flushSides {
	place := shape.roofBounds().Pad(s.measures.Spacing)
	cell := max(1.5, 4*s.measures.Spacing)
	f := &flushSides{Grid: cloud.NewGrid(place.Pad(cell), cell)}
	f.cells, f.about = make([][]faceReturn, f.Len()), make([]int32, f.Len())
	for i := range s.block.In(place) {
		p := &s.block.Points[i]
		if !faces[int32(i)] && (s.roofOf[i] >= 0 || p.Returns() > 1 || !s.beneath(p, i, shape)) {
			continue
		}
		if dx, dy, ok := s.bearing(p); ok {
			c, _ := f.Index(p.East(), p.North())
			f.cells[c] = append(f.cells[c], faceReturn{p.East(), p.North(), dx, dy})
			f.around(c, func(n int) { f.about[n]++ })
		}
	}
	return f
}

// around visits a cell and those around it, row by row.
func (f *flushSides) around(c int, visit func(n int)) {
	row, col := c/f.Cols, c%f.Cols
	for r := max(row-1, 0); r <= min(row+1, f.Rows-1); r++ {
		for k := max(col-1, 0); k <= min(col+1, f.Cols-1); k++ {
			visit(r*f.Cols + k)
		}
	}
}

// beneath reports whether a return lies on a wall right below the edge of a
// roof: not under it, as one below an eave does.
func (s *surroundings) beneath(p *cloud.Point, i int, shape *roofShape) bool {
	if !(s.hag[i] > adoptHeight) {
		return false
	}
	if _, distance := shape.nearest(p.East(), p.North()); distance > 1.5*s.measures.Spacing {
		return false
	}
	if z, ok := shape.height(p.East(), p.North()); !ok || z-p.Up() < faceDepth*s.measures.SigmaZ {
		return false
	}
	dx, dy, ok := s.bearing(p)
	return ok && !s.roofAhead(shape, p, dx, dy)
}

// at reports whether a pulse that made a return at p came towards a face that
// is flush with the edge: two returns from one are near, seen from about the
// same side.
func (f *flushSides) at(s *surroundings, p *cloud.Point) bool {
	c, ok := f.Index(p.East(), p.North())
	if !ok || f.about[c] < 2 {
		return false
	}
	dx, dy, ok := s.bearing(p)
	if !ok {
		return false
	}
	n := 0
	f.around(c, func(k int) {
		for _, r := range f.cells[k] {
			if math.Hypot(r.x-p.East(), r.y-p.North()) < f.Cell && r.dx*dx+r.dy*dy > 0.5 {
				n++
			}
		}
	})
	return n >= 2
}

package extract

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"

	"quoin/extract/cloud"
	"quoin/extract/outline"
	"quoin/vector/scratch"
)

// A roofShape is the surface of one building's roof, carried on beyond its
// edges: it tells how high the roof would be at a place beside it.
//
// A ray that comes from above crosses the carried-on surface once, so where
// it crosses is on the roof if it was stopped there and off it if it went on.
type roofShape struct {
	block  *cloud.Block
	points []int32 // roof points, in canonical order
	margin float64
	grid   cloud.Grid   // reaches the margin beyond the roof
	start  []int32      // points of a cell are order[start[cell]:start[cell+1]]
	order  []int32      // positions in points
	source []int32      // of each cell, the nearest cell that holds points
	radius float64      // for local planes
	rough  float64      // residual from which a point is not part of its plane
	planes []slope      // one a point, worked out when first asked for
	level  float64      // mean elevation of the roof
	places [][3]float64 // room for the places about a point
}

// A slope is the gradient of the roof about a point.
type slope struct {
	gx, gy float64
	known  bool
	level  bool // the point does not lie on the plane about it
	// steep says of a level one that it lies on a plane too steep to be carried
	// on, as the lower slope of a mansard is.
	steep bool
	// above is how far the plane lies above a point on it.
	above float64
}

// newRoofShape indexes the roof points of one building, for places up to
// margin beyond the roof. There must be at least one point.
func newRoofShape(b *cloud.Block, points []int32, m cloud.Measures, margin float64) *roofShape {
	r := &roofShape{
		block: b, points: points, margin: margin,
		radius: max(1, 4*m.Spacing), // so that a parapet is the smaller part of it
		rough:  0.05 + 3*m.SigmaZ,
		planes: make([]slope, len(points)),
	}
	bounds := cloud.Rect{MinX: math.Inf(1), MinY: math.Inf(1), MaxX: math.Inf(-1), MaxY: math.Inf(-1)}
	for _, i := range points {
		p := &b.Points[i]
		bounds.MinX, bounds.MaxX = min(bounds.MinX, p.East()), max(bounds.MaxX, p.East())
		bounds.MinY, bounds.MaxY = min(bounds.MinY, p.North()), max(bounds.MaxY, p.North())
		r.level += p.Up() / float64(len(points))
	}
	r.grid = cloud.NewGrid(bounds.Pad(margin), max(0.25, 2*m.Spacing))
	r.bin()
	r.source = nearestOccupied(r.grid, func(cell int) bool { return r.start[cell] < r.start[cell+1] })
	return r
}

// kept returns the shape with what it holds of each point in the block's store,
// where it may stay until the building is done.
func (r *roofShape) kept() *roofShape {
	store := r.block.Store
	r.points, r.start, r.order = scratch.Copy(store, r.points), scratch.Copy(store, r.start), scratch.Copy(store, r.order)
	r.source, r.planes = scratch.Copy(store, r.source), scratch.Copy(store, r.planes)
	return r.rest()
}

// rest gives back what is only needed while the shape is being looked at.
func (r *roofShape) rest() *roofShape {
	r.places = nil
	return r
}

// bin sorts the points into cells.
func (r *roofShape) bin() {
	r.start = make([]int32, r.grid.Len()+1)
	cells := make([]int, len(r.points))
	for k, i := range r.points {
		cells[k], _ = r.grid.Index(r.block.Points[i].East(), r.block.Points[i].North())
		r.start[cells[k]+1]++
	}
	for c := range r.grid.Len() {
		r.start[c+1] += r.start[c]
	}
	next := append([]int32(nil), r.start...)
	r.order = make([]int32, len(r.points))
	for k := range r.points {
		r.order[next[cells[k]]] = int32(k)
		next[cells[k]]++
	}
}

// bounds returns the rectangle within the margin of the roof.
func (r *roofShape) bounds() cloud.Rect { return r.grid.Bounds() }

// roofBounds returns the rectangle of the roof itself.
func (r *roofShape) roofBounds() cloud.Rect { return r.grid.Bounds().Pad(-r.margin) }

// middle returns the middle of the roof's rectangle.
func (r *roofShape) middle() (x, y float64) {
	b := r.roofBounds()
	return (b.MinX + b.MaxX) / 2, (b.MinY + b.MaxY) / 2
}

// holds reports whether all vertices lie within the margin of the roof. Edges
// that are close to parallel can meet anywhere.
func (r *roofShape) holds(rings []outline.Ring) bool {
	for _, ring := range rings {
		for _, v := range ring.Vertices {
			if !r.bounds().Contains(v.X, v.Y) {
				return false
			}
		}
	}
	return true
}

// nearest returns the roof point nearest to a place, by its position in
// points, and its distance; -1 beyond the margin. The search is among the
// points of the nearest cell that has some, and its neighbours.
func (r *roofShape) nearest(x, y float64) (int, float64) {
	cell, ok := r.grid.Index(x, y)
	if !ok {
		return -1, math.Inf(1)
	}
	f := finder{x: x, y: y, best: -1, bestSq: r.margin * r.margin}
	source := int(r.source[cell])
	r.search(&f, source)
	row, col := source/r.grid.Cols, source%r.grid.Cols
	for rr := max(row-1, 0); rr <= min(row+1, r.grid.Rows-1); rr++ {
		for cc := max(col-1, 0); cc <= min(col+1, r.grid.Cols-1); cc++ {
			if c := rr*r.grid.Cols + cc; c != source {
				r.search(&f, c)
			}
		}
	}
	if f.best < 0 {
		return -1, r.margin
	}
	return int(r.order[f.best]), math.Sqrt(f.bestSq)
}

// A finder looks for the roof point nearest to a place. Of two as near it
// takes the first in order.
type finder struct {
	x, y   float64
	best   int // in order; -1 for none
	bestSq float64
}

// search looks through a cell, unless all of it is farther than what was found.
func (r *roofShape) search(f *finder, cell int) {
	lo, hi := r.start[cell], r.start[cell+1]
	if lo == hi {
		return
	}
	cx, cy := r.grid.Centre(cell)
	half := r.grid.Cell/2 + 1e-6
	dx, dy := max(math.Abs(f.x-cx)-half, 0), max(math.Abs(f.y-cy)-half, 0)
	if dx*dx+dy*dy > f.bestSq {
		return
	}
	for at := lo; at < hi; at++ {
		p := &r.block.Points[r.points[r.order[at]]]
		dx, dy := p.East()-f.x, p.North()-f.y
		if d := dx*dx + dy*dy; d < f.bestSq || d == f.bestSq && int(at) < f.best {
			f.best, f.bestSq = int(at), d
		}
	}
}

// height returns the elevation of the roof at a place, carried on from the
// nearest roof point along the plane there; not ok beyond the margin.
func (r *roofShape) height(x, y float64) (z float64, ok bool) {
	k, _ := r.nearest(x, y)
	if k < 0 {
		return 0, false
	}
	p := &r.block.Points[r.points[k]]
	g := r.slopeAt(k)
	return p.Up() + g.gx*(x-p.East()) + g.gy*(y-p.North()), true
}

// edgeVotes is the number of roof points that settle the elevation of a
// corner: few, as a parapet is only a point or two wide.
const edgeVotes = 5

// elevation returns the elevation of the roof's edge at a place: the median of
// what the nearest roof points say, each carried on along its own plane, but no
// farther than that was fitted over: a corner of an outline that went wrong may
// lie many metres from the roof, where a steep plane would be anywhere. NaN
// beyond the margin.
func (r *roofShape) elevation(x, y float64) float64 {
	k, _ := r.nearest(x, y)
	if k < 0 {
		return math.NaN()
	}
	near := r.around(&r.block.Points[r.points[k]])
	slices.SortStableFunc(near, func(a, b neighbour) int {
		return cmp.Compare(r.distanceSq(a, x, y), r.distanceSq(b, x, y))
	})
	var votes []float64
	for _, n := range near[:min(edgeVotes, len(near))] {
		p, g := &r.block.Points[r.points[n.k]], r.slopeAt(int(n.k))
		dx, dy := x-p.East(), y-p.North()
		reach := min(1, r.radius/math.Hypot(dx, dy))
		votes = append(votes, p.Up()+reach*(g.gx*dx+g.gy*dy))
	}
	return quantile(votes, 0.5)
}

func (r *roofShape) distanceSq(n neighbour, x, y float64) float64 {
	p := &r.block.Points[r.points[n.k]]
	dx, dy := p.East()-x, p.North()-y
	return dx*dx + dy*dy
}

// steepest bounds the gradient that a roof is carried on with: 60 degrees.
const steepest = 1.75

// slopeAt fits a plane to the roof points about one of them. A point that
// does not lie on it, as on a parapet or a gutter lip, is carried on level.
func (r *roofShape) slopeAt(k int) slope {
	if r.planes[k].known {
		return r.planes[k]
	}
	r.planes[k] = r.fitSlope(k)
	return r.planes[k]
}

func (r *roofShape) fitSlope(k int) slope {
	level := slope{known: true, level: true}
	r.places = r.places[:0]
	r.eachAround(&r.block.Points[r.points[k]], func(n neighbour) { r.places = append(r.places, n.at) })
	places := r.places
	if len(places) < 6 {
		return level
	}
	inliers := mostOnAPlane(places, r.rough, steepest)
	z0, gx, gy, ok := fitPlane(inliers)
	if !ok || math.Abs(z0) > r.rough || math.Hypot(gx, gy) > steepest {
		level.steep = r.onSteepPlane(places)
		return level
	}
	return slope{gx: gx, gy: gy, known: true, above: z0}
}

// upright is the gradient from which a plane is a wall's and no roof's: 80
// degrees.
const upright = 5.7

// onSteepPlane reports whether most of the places about a point, with the point
// itself, lie on a steep plane that is wide enough seen from above to be no
// wall.
func (r *roofShape) onSteepPlane(places [][3]float64) bool {
	on := mostOnAPlane(places, r.rough, upright)
	if 2*len(on) < len(places) {
		return false
	}
	z0, gx, gy, ok := fitPlane(on)
	g := math.Hypot(gx, gy)
	return ok && g < upright && math.Abs(z0) <= r.rough*math.Hypot(1, g) && thickness(on) > faceThickness
}

// planeTrials is the number of planes tried: with half of the points on one
// plane, one of eight triples is, and 32 triples miss it once in seventy.
const planeTrials = 32

// mostOnAPlane returns the points near the plane through three of them that
// most others lie near, within the tolerance in height, among planes up to a gradient (Fischler & Bolles
// 1981, Comm. ACM 24:381–395). A plane is left as soon as it can't have more
// points than the best one.
func mostOnAPlane(points [][3]float64, tolerance, steepest float64) [][3]float64 {
	n := len(points)
	var best tilt
	most := 0
	draw := rand.New(rand.NewPCG(1, 1)) // the same triples each time
	for range planeTrials {
		triple := [3][3]float64{points[draw.IntN(n)], points[draw.IntN(n)], points[draw.IntN(n)]}
		z0, gx, gy, ok := fitPlane(triple[:])
		if !ok || math.Hypot(gx, gy) > steepest {
			continue
		}
		t := tilt{z0, gx, gy}
		if on := t.count(points, tolerance, n-most); on > most {
			best, most = t, on
		}
		if most == n {
			break
		}
	}
	if most == 0 {
		return nil
	}
	on := make([][3]float64, 0, most)
	for i := range points {
		if best.off(&points[i]) <= tolerance {
			on = append(on, points[i])
		}
	}
	return on
}

// A tilt is the plane z = z0 + gx·x + gy·y.
type tilt struct{ z0, gx, gy float64 }

// off is how far a point lies above or below the plane.
func (t *tilt) off(p *[3]float64) float64 { return math.Abs(p[2] - t.z0 - t.gx*p[0] - t.gy*p[1]) }

// count returns how many points lie within the tolerance of the plane, or 0
// once spare of them do not.
func (t *tilt) count(points [][3]float64, tolerance float64, spare int) int {
	off := 0
	for i := range points {
		if !(t.off(&points[i]) <= tolerance) {
			if off++; off >= spare {
				return 0
			}
		}
	}
	return len(points) - off
}

// A neighbour is a roof point, by its position in points, and where it lies
// relative to another.
type neighbour struct {
	k  int32
	at [3]float64
}

// around returns the roof points within the radius.
func (r *roofShape) around(centre *cloud.Point) []neighbour {
	var near []neighbour
	r.eachAround(centre, func(n neighbour) { near = append(near, n) })
	return near
}

// eachAround visits the roof points within the radius.
func (r *roofShape) eachAround(centre *cloud.Point, visit func(n neighbour)) {
	box := cloud.NewGrid(cloud.Rect{
		MinX: centre.East() - r.radius, MinY: centre.North() - r.radius,
		MaxX: centre.East() + r.radius, MaxY: centre.North() + r.radius,
	}, r.grid.Cell)
	for row := max(box.Row0, r.grid.Row0); row < min(box.Row0+box.Rows, r.grid.Row0+r.grid.Rows); row++ {
		for col := max(box.Col0, r.grid.Col0); col < min(box.Col0+box.Cols, r.grid.Col0+r.grid.Cols); col++ {
			cell := (row-r.grid.Row0)*r.grid.Cols + col - r.grid.Col0
			for _, k := range r.order[r.start[cell]:r.start[cell+1]] {
				p := &r.block.Points[r.points[k]]
				d := [3]float64{p.East() - centre.East(), p.North() - centre.North(), p.Up() - centre.Up()}
				if d[0]*d[0]+d[1]*d[1] <= r.radius*r.radius {
					visit(neighbour{k, d})
				}
			}
		}
	}
}

// fitPlane is the least-squares plane z = z0 + gx·x + gy·y; not ok when the
// points lie on a line.
func fitPlane(points [][3]float64) (z0, gx, gy float64, ok bool) {
	n := float64(len(points))
	var mx, my, mz float64
	for _, p := range points {
		mx, my, mz = mx+p[0]/n, my+p[1]/n, mz+p[2]/n
	}
	var xx, xy, yy, xz, yz float64
	for _, p := range points {
		x, y, z := p[0]-mx, p[1]-my, p[2]-mz
		xx, xy, yy = xx+x*x, xy+x*y, yy+y*y
		xz, yz = xz+x*z, yz+y*z
	}
	det := xx*yy - xy*xy
	if !(det > 1e-3*(xx+yy)*(xx+yy)) {
		return 0, 0, 0, false
	}
	gx, gy = (xz*yy-yz*xy)/det, (yz*xx-xz*xy)/det
	return mz - gx*mx - gy*my, gx, gy, true
}

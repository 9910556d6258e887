package roof

import (
	"math"

	"quoin/extract/cloud"
)

// A Feature is what the neighbourhood of a point says of it.
type Feature struct {
	// gx, gy are the gradient of the surface in thousandths.
	gx, gy int16
	// share is the share of neighbours on the surface, of 255.
	share uint8
	// multi is the share of neighbours whose pulse had several returns, of 255.
	multi uint8
	// rough is the root mean square residual of the surface in millimetres,
	// 255 for more.
	rough uint8
	form  form
}

// A form says how a point fits what is around it.
type form uint8

const (
	ground  form = iota // too low to be looked at, or of unknown height
	loose               // above ground and on no surface
	linear              // on a line of points: a wall's top, a wire, a parapet
	surface             // on a smooth surface: roof-like
)

// RoofLike reports whether the point lies on a smooth surface above ground.
func (f Feature) RoofLike() bool { return f.form == surface }

// Loose reports whether the point stands above ground and on no surface: most
// such points are leaves.
func (f Feature) Loose() bool { return f.form == loose }

// Above reports whether the point is high enough above ground to be looked at.
func (f Feature) Above() bool { return f.form != ground }

func (f Feature) gradient() (gx, gy float64) { return float64(f.gx) / 1000, float64(f.gy) / 1000 }

// describeTile bounds the memory of Describe: it works in squares of this many
// metres.
const describeTile = 64

// Describe writes the features of the points in core into out, which has one
// entry a point of b. hag is the height above ground of each point, NaN where
// unknown.
//
// A point's feature depends only on the points within 1.7 max(0.6 m, 2 spacings)
// of it. Concurrent calls for cores that do not overlap are safe. Time is
// linear in the points.
func Describe(b *cloud.Block, hag []float32, core cloud.Rect, m cloud.Measures, out []Feature) {
	d := describer{block: b, hag: hag, limits: limitsOf(m), out: out}
	part := core.Intersect(b.Bounds())
	if part.Empty() {
		return
	}
	tiles := cloud.NewGrid(part, describeTile)
	for t := range tiles.Len() {
		x, y := tiles.Centre(t)
		half := tiles.Cell / 2
		tile := cloud.Rect{MinX: x - half, MinY: y - half, MaxX: x + half, MaxY: y + half}
		d.tile(tile.Intersect(part))
	}
}

type describer struct {
	block  *cloud.Block
	hag    []float32
	limits limits
	out    []Feature
	ids    []int32
	near   []spot
	hood   hood
	half   hood
}

// tile describes the points of one square.
func (d *describer) tile(core cloud.Rect) {
	halo := core.Pad(wider * d.limits.radius)
	d.ids = d.ids[:0]
	for i := range d.block.In(halo) {
		if d.hag[i] >= floor {
			d.ids = append(d.ids, int32(i))
		}
	}
	if len(d.ids) == 0 {
		return
	}
	x := newIndex(d.block, d.ids, halo, d.limits.radius/2)
	for _, s := range x.spots {
		id := d.ids[s.at]
		p := &d.block.Points[id]
		if core.Contains(p.East(), p.North()) {
			d.out[id] = d.describe(x, s)
		}
	}
}

// gather collects the neighbours of a point in a cylinder about it.
func (d *describer) gather(x *index, s spot, within float64) (multi uint8) {
	radius, reach := steps(within), steps(d.limits.reach)
	limit := int64(radius) * int64(radius)
	w := x.window(s.x, s.y, radius)
	d.near = d.near[:0]
	for row := w.row0; row <= w.row1; row++ {
		for _, q := range x.row(w, row) {
			dx, dy, dz := int64(q.x-s.x), int64(q.y-s.y), q.z-s.z
			if dx*dx+dy*dy <= limit && dz <= reach && dz >= -reach {
				d.near = append(d.near, q)
			}
		}
	}
	stride := (len(d.near) + mostNear - 1) / mostNear
	h, several := &d.hood, 0
	h.n = 0
	for i := 0; i < len(d.near); i += stride {
		q := d.near[i]
		h.x[h.n] = float64(q.x-s.x) * cloud.Step
		h.y[h.n] = float64(q.y-s.y) * cloud.Step
		h.z[h.n] = float64(q.z-s.z) * cloud.Step
		if d.block.Points[d.ids[q.at]].Returns() > 1 {
			several++
		}
		h.n++
	}
	return uint8(255 * several / h.n)
}

// wider is by how much a neighbourhood grows that has too few points: to three
// times its area, for panes of glass return one pulse in three.
const wider = 1.7

// least is the number of neighbours, the point itself among them, that a
// surface must have.
const least = 6

// describe fits the neighbourhood of one point.
func (d *describer) describe(x *index, s spot) Feature {
	f := Feature{form: loose, multi: d.gather(x, s, d.limits.radius)}
	h, l := &d.hood, &d.limits
	if h.n < least {
		f.multi = d.gather(x, s, wider*d.limits.radius)
	}
	if h.n < least {
		return f
	}
	best, ok := h.robust(tuning{0.6, l.inlier, l.radius / 6, 0})
	if !ok {
		return f
	}
	if !d.convincing(best) || best.rms > l.clean || best.inliers < best.n*9/10 {
		best = d.sided(best)
	}
	f.share = uint8(255 * best.inliers / max(best.n, 1))
	f.rough = uint8(min(best.rms*1000, 255))
	f.gx, f.gy = int16(math.Round(best.gx*1000)), int16(math.Round(best.gy*1000))
	if d.convincing(best) {
		f.form = surface
		if best.line {
			f.form = linear
		}
	}
	return f
}

// steepest is the gradient of the steepest roof, 70 degrees.
const steepest = 2.75

// convincing reports whether a plane carries its point and most of its
// neighbours, more of them the fewer there are: three lie on any plane.
func (d *describer) convincing(f fit) bool {
	return f.n >= least && math.Abs(f.z0) < d.limits.inlier*f.secant() &&
		math.Hypot(f.gx, f.gy) < steepest &&
		float64(f.inliers-3) >= 0.55*float64(f.n-3)
}

// sides are the directions in which half a neighbourhood is tried.
var sides = [8][2]float64{
	{1, 0},
	{math.Sqrt2 / 2, math.Sqrt2 / 2},
	{0, 1},
	{-math.Sqrt2 / 2, math.Sqrt2 / 2},
	{-1, 0},
	{-math.Sqrt2 / 2, -math.Sqrt2 / 2},
	{0, -1},
	{math.Sqrt2 / 2, -math.Sqrt2 / 2},
}

// sided looks for the half neighbourhood that is the smoothest: beside a
// ridge, a step or a wall a plane through both halves tilts or fails, and one
// through the point's own half does not (the idea of Nagao & Matsuyama 1979,
// Computer Graphics and Image Processing 9, 394–407). A half must explain
// nearly all it holds, and clearly better than the whole did, since the best
// of eight is good by chance.
func (d *describer) sided(whole fit) fit {
	l := &d.limits
	best, line := whole, fit{}
	limit := math.Inf(1)
	if d.convincing(whole) {
		limit = 0.75 * whole.rms
	}
	for _, u := range sides {
		d.hood.side(&d.half, u[0], u[1], l.inlier/2)
		if d.half.n < least {
			continue
		}
		f, ok := d.half.robust(tuning{0.3, l.inlier, l.radius / 6, 0.3})
		if !ok || !d.convincing(f) || float64(f.inliers-3) < 0.8*float64(f.n-3) || f.rms > 1.5*l.clean {
			continue
		}
		switch {
		case !f.line && f.rms < limit:
			best, limit = f, f.rms
		case f.line && f.inliers > line.inliers:
			line = f
		}
	}
	if !d.convincing(best) && line.n > 0 {
		return line
	}
	return best
}

package ground

import (
	"math"

	"quoin/extract/cloud"
)

// refitMargin is how far beyond the core, in metres, the fine cells are worked:
// farther away nothing reaches the core that the rough terrain does not hold.
const refitMargin = 24

const (
	// settleRounds is how often cells are admitted anew.
	settleRounds = 5
	// admitBase and admitSlope give the band of a cell's lowest point about
	// the surface: metres, and metres a metre of cell and slope. It reaches
	// lower than higher, for lowest points lie below and objects above (in the
	// spirit of Kraus and Pfeifer 1998).
	admitBase, admitSlope, admitBelow = 0.15, 0.1, 0.2
	// smoothRadius is the radius, in metres, of the surface that cells are
	// held against.
	smoothRadius = 1.0
	// slopeShare is how much of the fall across a cell a ground point may be
	// off its surface by.
	slopeShare = 0.2
)

// A refit fits the surface in fine cells of a part of the window: heights
// above the rough terrain.
type refit struct {
	cloud.Grid
	base  []float32 // the rough terrain at the cells' centres
	slope []float32
	low   []spot // the lowest points
	above layer  // the lowest points above the base, NaN where there is none
	fine  layer  // the surface above the base
	held  []bool // cells whose lowest point is on the surface
	// raised cells lie in raised regions: no step of the terrain leads there.
	raised []bool
	o      Options
}

// A spot is where a cell's lowest point lies: in cells from the cell's centre,
// and its elevation.
type spot struct{ x, y, z float32 }

func newRefit(b *cloud.Block, low *lowest, rough *roughly, part cloud.Grid, o Options) *refit {
	n := part.Len()
	r := &refit{
		Grid: part, base: make([]float32, n), low: make([]spot, n), held: make([]bool, n), raised: make([]bool, n), o: o,
		above: layer{part.Rows, part.Cols, make([]float32, n)},
		fine:  layer{part.Rows, part.Cols, make([]float32, n)},
	}
	for i := range n {
		x, y := part.Centre(i)
		r.base[i] = float32(cloud.Bilinear(&rough.Raster, x, y))
		if at, ok := rough.Index(x, y); ok {
			r.raised[i] = rough.raised[at]
		}
		r.above.v[i] = nan32
		row, col := part.Row0-low.Row0+i/part.Cols, part.Col0-low.Col0+i%part.Cols
		if z := low.at(row, col); z == z {
			p := &b.Points[low.index[row*low.Cols+col]]
			r.above.v[i] = z - float32(cloud.Bilinear(&rough.Raster, p.East(), p.North()))
			r.low[i] = spot{float32((p.East() - x) / part.Cell), float32((p.North() - y) / part.Cell), z}
		}
	}
	r.slope = steepness(layer{part.Rows, part.Cols, r.base}, part.Cell)
	return r
}

// settle alternates between the smoothed surface of the cells held and holding
// the cells near it.
func (r *refit) settle() {
	r.hold()
	for range settleRounds {
		r.fine = smooth(fill(r.masked(r.above.v)), max(int(math.Round(smoothRadius/r.Cell)), 1))
		if !r.hold() {
			break
		}
	}
	r.follow()
	r.spread()
	r.dropFeet()
	r.fine = fill(r.masked(r.above.v))
}

const (
	// stepReach is how far, in metres, a step may be for the surface to be
	// blurred by it.
	stepReach = 3 * smoothRadius
	// stepCompany is how many held cells within two a cell must be level with
	// to carry the surface on to it.
	stepCompany = 3
	// stepShare is the share of the held cells within reach that are level with
	// a cell on a terrace; at its edge half of them are.
	stepShare = 0.4
)

// follow carries the surface on to both edges of steps (walls, curbs), from
// where smoothing has kept it away: to cells that are level with held ones
// beside them and have held ones of another level within reach.
func (r *refit) follow() {
	for range int(math.Ceil(stepReach / r.Cell)) {
		var found []int
		for i, v := range r.above.v {
			if v == v && !r.held[i] && !r.raised[i] && r.carries(i) {
				found = append(found, i)
			}
		}
		if len(found) == 0 {
			return
		}
		for _, i := range found {
			r.held[i] = true
		}
	}
}

// carries reports whether the surface leads on to a cell: level either in
// height above the rough terrain, as on a slope, or in height itself, as on a
// terrace whose wall the rough terrain makes a bank of. The latter must hold
// for much of what is held about, or the top of a car beside a bank would do.
func (r *refit) carries(i int) bool {
	b := r.band(i)
	var held, wide int
	var near, steps [2]int
	reach := int(math.Ceil(stepReach / r.Cell))
	row, col := i/r.Cols, i%r.Cols
	for y := max(row-reach, 0); y <= min(row+reach, r.Rows-1); y++ {
		for x := max(col-reach, 0); x <= min(col+reach, r.Cols-1); x++ {
			at := y*r.Cols + x
			if !r.held[at] {
				continue
			}
			held++
			close := max(abs(y-row), abs(x-col)) <= 2
			d := r.above.v[at] - r.above.v[i]
			for k, rise := range [2]float32{d, d + r.base[at] - r.base[i]} {
				switch level := rise <= b && rise >= -b; {
				case !level:
					steps[k]++
				case close:
					near[k]++
				}
			}
		}
	}
	wide = held - steps[1]
	return near[0] >= stepCompany && steps[0] > 0 ||
		near[1] >= stepCompany && steps[1] > 0 && float64(wide) >= stepShare*float64(held)
}

// hold holds the cells near the surface and reports whether that changed any.
func (r *refit) hold() (changed bool) {
	for i, v := range r.above.v {
		e := v - r.fine.v[i]
		b := r.band(i)
		held := e < b && e > -admitBelow-2*b
		changed = changed || held != r.held[i]
		r.held[i] = held
	}
	return changed
}

// band is how far above the surface a cell's lowest point may lie.
func (r *refit) band(i int) float32 {
	return float32(max(admitBase, r.o.Tolerance) + admitSlope*r.Cell*float64(r.slope[i]))
}

func (r *refit) masked(v []float32) layer {
	out := layer{r.Rows, r.Cols, make([]float32, len(v))}
	for i, held := range r.held {
		out.v[i] = nan32
		if held {
			out.v[i] = v[i]
		}
	}
	return out
}

// bands are how far below and above the surface, in tolerances, points move it
// to their mean. They are wider below: above is where low plants stand.
var bands = [...][2]float64{{3, 1.5}, {1.5, 1}, {1.25, 1}}

// thicket is the height in metres up to which points above the band speak
// against a cell: where they outnumber those in it, low plants hide the
// ground, and the cells about know better.
const thicket = 1.0

// centre moves the surface from the lowest points of cells to the middle of
// all ground points, by their mean in bands that get narrower.
func (r *refit) centre(b *cloud.Block) {
	for _, band := range bands {
		for i, c := range r.contents(b, band) {
			r.held[i] = r.held[i] && c.n > 0 && 2*c.over <= c.n
			if r.held[i] {
				r.fine.v[i] += float32(c.sum / float64(c.n))
			}
		}
		r.fine = fill(r.masked(r.fine.v))
	}
}

// content is what a cell holds: the sum of the heights above the surface of
// the n points in a band about it, and how many lie in the thicket over it.
type content struct {
	sum     float64
	n, over int32
}

// contents sums up the cells that are held, in canonical order.
func (r *refit) contents(b *cloud.Block, band [2]float64) []content {
	surface := &cloud.Raster[float32]{Grid: r.Grid, Values: make([]float32, r.Len())}
	for i := range surface.Values {
		surface.Values[i] = r.base[i] + r.fine.v[i]
	}
	out := make([]content, r.Len())
	at := newLocator(r.Grid)
	for s := range b.Spans(r.Bounds()) {
		for i := s.Lo; i < s.Hi; i++ {
			p := &b.Points[i]
			c := at.of(p)
			if c < 0 || !r.held[c] {
				continue
			}
			e := p.Up() - cloud.Bilinear(surface, p.East(), p.North())
			more := slopeShare * r.Cell * float64(r.slope[c])
			switch in := &out[c]; {
			case e < -band[0]*r.o.Tolerance-more:
			case e <= band[1]*r.o.Tolerance+more:
				in.sum += e
				in.n++
			case e < thicket:
				in.over++
			}
		}
	}
	return out
}

// write puts the surface and where it is interpolated into a core's cells.
// Cells outside the part take the nearest one's value.
func (r *refit) write(out *Surface) {
	near := layer{r.Rows, r.Cols, make([]float32, r.Len())}
	for i, held := range r.held {
		if held {
			near.v[i] = 1
		}
	}
	near = greatest(near, max(int(r.o.Reach/r.Cell), 1))
	g := out.Z.Grid
	for i := range out.Z.Values {
		row, col := g.Row0+i/g.Cols-r.Row0, g.Col0+i%g.Cols-r.Col0
		inside := uint(row) < uint(r.Rows) && uint(col) < uint(r.Cols)
		at := min(max(row, 0), r.Rows-1)*r.Cols + min(max(col, 0), r.Cols-1)
		out.Z.Values[i] = r.base[at] + r.fine.v[at]
		out.Interpolated.Values[i] = !inside || near.v[at] == 0
	}
}

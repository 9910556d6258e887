package ground

import (
	"math"
	"slices"

	"quoin/extract/cloud"
)

// candidate is the lowest point of a coarse cell, with its position in steps
// about the window's corner.
type candidate struct {
	x, y   int32
	z      float64
	near   int32 // the triangle it was last found in
	exists bool
	raised bool  // in a raised region: never terrain
	region int32 // the region it is part of, -1 for none
	joined bool  // a vertex of the terrain
}

// terrain is the triangulated surface that grows from seeds.
// Axelsson 2000, "DEM generation from laser scanner data using adaptive TIN
// models", IAPRS XXXIII(B4). Departures: it is built from the lowest points of
// coarse cells only; seeds and candidates in raised regions are left out; the
// rim outside the data follows planes through the nearest vertices.
type terrain struct {
	cloud.Grid
	cells []candidate
	tin   *tin
	rim   []int32 // vertices outside the data, and the corners
	o     Options
}

// maxRounds bounds the growth. A round adds a ring of cells at least, most
// add all that a finer mesh lets in; beyond this nothing of note joins.
const maxRounds = 30

// newTerrain returns the terrain of a window's coarse cells, grown from the
// lowest candidates of windows of the given side.
func newTerrain(b *cloud.Block, low *lowest, where *standing, side float64, o Options) *terrain {
	t := &terrain{Grid: low.Grid, cells: make([]candidate, low.Len()), o: o}
	at := newLocator(low.Grid)
	for i, z := range low.z {
		if z == z {
			p := &b.Points[low.index[i]]
			c := candidate{x: int32(int64(p.X) - at.x0), y: int32(int64(p.Y) - at.y0), z: p.Up(), exists: true}
			c.region, c.raised = where.of(p)
			t.cells[i] = c
		}
	}
	width, height := int32(at.cols*at.cell), int32(at.rows*at.cell)
	t.tin = newTin(width, height, int32(at.cell), low.Len()/2)
	t.rim = []int32{0, 1, 2, 3}
	t.seed(side, where)
	t.addRim(width, height, side)
	t.settle()
	return t
}

// settle grows the terrain until nothing joins.
func (t *terrain) settle() {
	for range maxRounds {
		t.levelRim()
		if t.grow() == 0 {
			break
		}
	}
	t.levelRim()
}

// seed joins the lowest candidate of each of the half-overlapping windows,
// which are anchored on the frame, and that of each terrace in it: facets do
// not climb walls. Raised regions may hold seeds only where there is nothing
// else in the whole window.
func (t *terrain) seed(side float64, where *standing) {
	seeds := t.seedFrom(side, func(p *candidate) int32 {
		if p.raised {
			return -1
		}
		return 0
	})
	if len(seeds) == 0 {
		t.seedFrom(side, func(*candidate) int32 { return 0 })
		return
	}
	var regions []int32
	for _, i := range seeds {
		if k := t.cells[i].region; k >= 0 {
			regions = append(regions, k)
		}
	}
	terrain := where.terraces(regions, where.cell)
	t.seedFrom(side, func(p *candidate) int32 {
		if p.raised || p.region < 0 || !terrain[p.region] {
			return -1
		}
		return p.region
	})
}

// seedFrom joins the lowest candidate of each group in each window, those of
// no group (-1) left out, and returns them. A window that the data's edge
// leaves less than half of is left to its neighbour: in a sliver all may be
// roof.
func (t *terrain) seedFrom(side float64, group func(p *candidate) int32) (seeds []int) {
	half := int(side / 2 / t.Cell)
	for _, row := range starts(t.Row0, t.Rows, half) {
		for _, col := range starts(t.Col0, t.Cols, half) {
			seeds = append(seeds, t.lowestIn(row-t.Row0, col-t.Col0, 2*half, group)...)
		}
	}
	for _, i := range seeds {
		t.join(i)
	}
	return seeds
}

// starts returns the multiples of half at which windows of twice that begin
// which have half their side at least, or all there is, in a run of n cells.
func starts(from, n, half int) []int {
	first := down(from, half)
	out := []int{first}
	for at := first + half; at+half <= from+n; at += half {
		out = append(out, at)
	}
	return out
}

// down returns the largest multiple of n that is not above v.
func down(v, n int) int {
	if m := v % n; m < 0 {
		return v - m - n
	}
	return v - v%n
}

// lowestIn returns the lowest candidate of each group in a window, in the
// order in which the groups are met.
func (t *terrain) lowestIn(row, col, side int, group func(p *candidate) int32) []int {
	var best []int
	var groups []int32
	for r := max(row, 0); r < min(row+side, t.Rows); r++ {
		for c := max(col, 0); c < min(col+side, t.Cols); c++ {
			i := r*t.Cols + c
			p := &t.cells[i]
			if !p.exists {
				continue
			}
			g := group(p)
			if g < 0 {
				continue
			}
			k := slices.Index(groups, g)
			switch {
			case k < 0:
				groups, best = append(groups, g), append(best, i)
			case p.z < t.cells[best[k]].z:
				best[k] = i
			}
		}
	}
	return best
}

func (t *terrain) join(i int) {
	if p := &t.cells[i]; !p.joined {
		p.joined = true
		t.tin.insert(p.x, p.y, p.z, p.near)
	}
}

// addRim puts vertices round the window, so that facets reach to its edge.
func (t *terrain) addRim(width, height int32, side float64) {
	n := func(length int32) int { return max(int(float64(length)*cloud.Step/side*2), 1) }
	add := func(x, y int32) {
		t.rim = append(t.rim, int32(len(t.tin.x)))
		t.tin.insert(x, y, 0, 0)
	}
	// Half a cell outside the data: no candidate can lie there.
	margin := int32(t.Cell / cloud.Step / 2)
	for k := range n(width) + 1 {
		x := int32(int64(width) * int64(k) / int64(n(width)))
		add(x, -margin)
		add(x, height+margin)
	}
	for k := range n(height) + 1 {
		y := int32(int64(height) * int64(k) / int64(n(height)))
		add(-margin, y)
		add(width+margin, y)
	}
}

// rimReach is how far a rim vertex looks, in distances of the nearest vertex:
// far enough for their spread to carry a slope over that distance.
const rimReach = 3

// levelRim sets the rim's heights from planes through the terrain's vertices
// near it.
func (t *terrain) levelRim() {
	for _, v := range t.rim {
		t.tin.z[v] = t.extrapolate(t.tin.x[v], t.tin.y[v])
	}
}

// extrapolate returns the height at a position of the plane of least squares
// through the vertices within rimReach of the nearest one's distance.
func (t *terrain) extrapolate(x, y int32) float64 {
	var near []int
	col, row := int(float64(x)*cloud.Step/t.Cell), int(float64(y)*cloud.Step/t.Cell)
	for d := 1; len(near) == 0 && d <= t.Rows+t.Cols; d *= 2 {
		near = t.joinedWithin(row, col, d, near)
		if len(near) > 0 {
			near = t.joinedWithin(row, col, max(3, rimReach*d), near[:0])
		}
	}
	if len(near) == 0 {
		return 0
	}
	var fit plane
	for _, i := range near {
		p := &t.cells[i]
		fit.add(float64(p.x-x)*cloud.Step, float64(p.y-y)*cloud.Step, p.z)
	}
	z, _, _ := fit.solve(1)
	return z
}

func (t *terrain) joinedWithin(row, col, d int, near []int) []int {
	for r := max(row-d, 0); r <= min(row+d, t.Rows-1); r++ {
		for c := max(col-d, 0); c <= min(col+d, t.Cols-1); c++ {
			if i := r*t.Cols + c; t.cells[i].joined {
				near = append(near, i)
			}
		}
	}
	return near
}

// grow joins every candidate that fits the terrain as it is, and returns how
// many did.
func (t *terrain) grow() int {
	var fit []int
	for i := range t.cells {
		if p := &t.cells[i]; p.exists && !p.joined && !p.raised && t.fits(p) {
			fit = append(fit, i)
		}
	}
	for _, i := range fit {
		t.join(i)
	}
	return len(fit)
}

// fits reports whether a candidate lies near enough to its facet, in distance
// and in angle at all of its corners, or below it. On steep facets its mirror
// image at the nearest corner may stand for it: so the terrain gets over its
// own breaks.
func (t *terrain) fits(p *candidate) bool {
	p.near = t.tin.locate(p.x, p.y, p.near)
	f := t.tin.plane(p.near)
	rise := p.z - f.at(p.x, p.y)
	if rise <= 0 || t.within(p.near, f, p.x, p.y, p.z) {
		return true
	}
	slope := math.Hypot(f.gx, f.gy) / cloud.Step
	if slope < t.o.FacetSlope {
		return false
	}
	return t.mirrorFits(p)
}

// within is the test of distance and angles.
func (t *terrain) within(at int32, f facet, x, y int32, z float64) bool {
	steep := math.Hypot(f.gx, f.gy) / cloud.Step
	away := math.Abs(z-f.at(x, y)) / math.Sqrt(1+steep*steep)
	if away > t.o.FacetDistance {
		return false
	}
	// sin² of the angle between facet and line to the corner.
	sinSq := t.o.FacetSlope * t.o.FacetSlope / (1 + t.o.FacetSlope*t.o.FacetSlope)
	for _, v := range t.tin.tri[at] {
		dx, dy := float64(x-t.tin.x[v])*cloud.Step, float64(y-t.tin.y[v])*cloud.Step
		dz := z - t.tin.z[v]
		if away*away > sinSq*(dx*dx+dy*dy+dz*dz) {
			return false
		}
	}
	return true
}

func (t *terrain) mirrorFits(p *candidate) bool {
	best, bestSq := int32(-1), math.Inf(1)
	for _, v := range t.tin.tri[p.near] {
		dx, dy := float64(p.x-t.tin.x[v]), float64(p.y-t.tin.y[v])
		if d := dx*dx + dy*dy; d < bestSq {
			best, bestSq = v, d
		}
	}
	x, y := 2*t.tin.x[best]-p.x, 2*t.tin.y[best]-p.y
	if x < 0 || y < 0 || x >= t.tin.x[2] || y >= t.tin.y[2] {
		return false
	}
	at := t.tin.locate(x, y, p.near)
	return t.within(at, t.tin.plane(at), x, y, 2*t.tin.z[best]-p.z)
}

// raster returns the facets' heights at the centres of a grid's cells.
func (t *terrain) raster(g cloud.Grid) []float32 {
	out := make([]float32, g.Len())
	at := newLocator(t.Grid)
	near := int32(0)
	for row := range g.Rows {
		start := near
		for col := range g.Cols {
			x, y := g.Centre(row*g.Cols + col)
			px := int32(math.Round(x/cloud.Step) - float64(at.x0))
			py := int32(math.Round(y/cloud.Step) - float64(at.y0))
			near = t.tin.locate(px, py, near)
			if col == 0 {
				start = near
			}
			out[row*g.Cols+col] = float32(t.tin.plane(near).at(px, py))
		}
		near = start
	}
	return out
}

package solid

import "math"

// A Grid is the terrain: elevations on a square grid, each cell split into two
// triangles along the diagonal from its south-west corner. That surface, not
// the function it was sampled from, is the terrain.
type Grid struct {
	x0, y0, cell float64
	cols, rows   int // of vertices
	z            []float32
	cover        []uint8 // by cell: index into covers
	covers       []Surface
	peaks        []float32 // highest elevation of each coarse cell
	wide, high   int       // of peaks
	top, bottom  float64
}

// coarse is the number of cells along the side of a coarse cell.
const coarse = 16

// GridOf samples a terrain over the box at the given cell size. elevation and
// cover are called at vertices and at cell centres.
func GridOf(box [2]Point, cell float64, elevation func(Point) float64, cover func(Point) Surface) *Grid {
	g := &Grid{x0: box[0].X, y0: box[0].Y, cell: cell}
	g.cols = int(math.Ceil((box[1].X-box[0].X)/cell)) + 1
	g.rows = int(math.Ceil((box[1].Y-box[0].Y)/cell)) + 1
	g.z = make([]float32, g.cols*g.rows)
	g.cover = make([]uint8, g.cols*g.rows)
	index := map[Surface]uint8{}
	for row := range g.rows {
		for col := range g.cols {
			p := Point{g.x0 + float64(col)*cell, g.y0 + float64(row)*cell}
			i := row*g.cols + col
			g.z[i] = float32(elevation(p))
			s := cover(p.Add(Point{cell / 2, cell / 2}))
			k, known := index[s]
			if !known && len(g.covers) < 255 {
				k = uint8(len(g.covers))
				index[s] = k
				g.covers = append(g.covers, s)
			}
			g.cover[i] = k
		}
	}
	g.findPeaks()
	return g
}

// findPeaks fills the coarse cells. A coarse cell's vertices include those on
// its far sides.
func (g *Grid) findPeaks() {
	g.wide, g.high = (g.cols-2)/coarse+1, (g.rows-2)/coarse+1
	g.peaks = make([]float32, g.wide*g.high)
	g.top, g.bottom = math.Inf(-1), math.Inf(1)
	for i := range g.peaks {
		g.peaks[i] = float32(math.Inf(-1))
		for row := i / g.wide * coarse; row <= min((i/g.wide+1)*coarse, g.rows-1); row++ {
			for col := i % g.wide * coarse; col <= min((i%g.wide+1)*coarse, g.cols-1); col++ {
				z := g.z[row*g.cols+col]
				g.peaks[i] = max(g.peaks[i], z)
				g.top, g.bottom = max(g.top, float64(z)), min(g.bottom, float64(z))
			}
		}
	}
}

// Elevation returns the terrain at p; outside the grid, that of the nearest
// place on it.
func (g *Grid) Elevation(p Point) float64 {
	u := min(max((p.X-g.x0)/g.cell, 0), float64(g.cols-1)-1e-9)
	v := min(max((p.Y-g.y0)/g.cell, 0), float64(g.rows-1)-1e-9)
	col, row := int(u), int(v)
	z00, a, b := g.plane(col, row, u-float64(col) >= v-float64(row))
	return z00 + a*(u-float64(col)) + b*(v-float64(row))
}

// plane returns the triangle's plane in cell units from the south-west corner.
func (g *Grid) plane(col, row int, east bool) (z, a, b float64) {
	i := row*g.cols + col
	z00, z10 := float64(g.z[i]), float64(g.z[i+1])
	z01, z11 := float64(g.z[i+g.cols]), float64(g.z[i+g.cols+1])
	if east {
		return z00, z10 - z00, z11 - z10
	}
	return z00, z11 - z01, z01 - z00
}

// meet returns where a descending or level ray first meets the terrain before
// distance limit.
func (g *Grid) meet(r Ray, limit float64) (Hit, bool) {
	t := 0.0
	if r.Dir.Z < 0 {
		t = max(0, (g.top-r.Origin.Z)/r.Dir.Z)
		limit = min(limit, (g.bottom-1-r.Origin.Z)/r.Dir.Z)
	}
	t, limit = g.clip(r, t, limit)
	w := newWalk(g, r, coarse, t)
	for w.inside(g.wide, g.high) && w.t < limit {
		until := min(w.next(), limit)
		low := min(r.Origin.Z+r.Dir.Z*w.t, r.Origin.Z+r.Dir.Z*until)
		if low <= float64(g.peaks[w.row*g.wide+w.col]) {
			if hit, ok := g.meetFine(r, w.t, until); ok {
				return hit, true
			}
		}
		w.step()
	}
	return Hit{}, false
}

// clip narrows an interval of the ray to where it is over the grid. It starts a
// little inside, so that rounding does not leave the walk beside the grid.
func (g *Grid) clip(r Ray, in, out float64) (float64, float64) {
	const inset = 1e-6
	width, height := float64(g.cols-1)*g.cell, float64(g.rows-1)*g.cell
	in, out = slab(g.x0+inset-r.Origin.X, g.x0+width-inset-r.Origin.X, 1/r.Dir.X, in, out)
	return slab(g.y0+inset-r.Origin.Y, g.y0+height-inset-r.Origin.Y, 1/r.Dir.Y, in, out)
}

// meetFine looks cell by cell between two distances.
func (g *Grid) meetFine(r Ray, from, until float64) (Hit, bool) {
	w := newWalk(g, r, 1, from)
	for w.t <= until && w.inside(g.cols-1, g.rows-1) {
		next := w.next()
		low := min(r.Origin.Z+r.Dir.Z*w.t, r.Origin.Z+r.Dir.Z*next)
		if low <= g.highest(w.col, w.row) {
			if hit, ok := g.meetCell(r, w.col, w.row, [2]float64{w.t, next}); ok {
				return hit, true
			}
		}
		w.step()
	}
	return Hit{}, false
}

// highest returns the highest corner of a cell.
func (g *Grid) highest(col, row int) float64 {
	i := row*g.cols + col
	return float64(max(g.z[i], g.z[i+1], g.z[i+g.cols], g.z[i+g.cols+1]))
}

// meetCell meets the two triangles of a cell.
func (g *Grid) meetCell(r Ray, col, row int, span [2]float64) (Hit, bool) {
	const slack = 1e-9 // metres: a hit on the border belongs to either cell
	best := Hit{T: math.Inf(1)}
	u0 := (r.Origin.X-g.x0)/g.cell - float64(col)
	v0 := (r.Origin.Y-g.y0)/g.cell - float64(row)
	du, dv := r.Dir.X/g.cell, r.Dir.Y/g.cell
	for _, east := range [2]bool{true, false} {
		z, a, b := g.plane(col, row, east)
		speed := r.Dir.Z - a*du - b*dv
		if speed >= 0 {
			continue // from below, or along it
		}
		t := -(r.Origin.Z - z - a*u0 - b*v0) / speed
		if t < span[0]-slack || t > span[1]+slack || t >= best.T {
			continue
		}
		if (u0+du*t >= v0+dv*t) != east {
			continue
		}
		n := Vec{-a / g.cell, -b / g.cell, 1}.Unit()
		best = Hit{t, n, g.covers[g.cover[row*g.cols+col]], Ground}
	}
	return best, !math.IsInf(best.T, 1)
}

package outline

import (
	"cmp"
	"math"
	"slices"
)

// A field holds the observations of one building sorted into square cells, so that a fit looks only at the cells that its edges pass
// and takes the rest as counts.
type field struct {
	x0, y0, cell float64
	rows, cols   int
	start        []int32
	x, y         []float64
	side         []Side
	blind        []bool
	count        [][4]int32
}

// newField bins observations. The order within a cell is by coordinates and side, so sums do not depend on the
// order of the input.
func newField(obs []Observation, cell float64) *field {
	f := &field{x0: math.Inf(1), y0: math.Inf(1), cell: cell}
	x1, y1 := math.Inf(-1), math.Inf(-1)
	for _, o := range obs {
		f.x0, f.y0 = min(f.x0, o.X), min(f.y0, o.Y)
		x1, y1 = max(x1, o.X), max(y1, o.Y)
	}
	for (x1-f.x0)/f.cell*(y1-f.y0)/f.cell > 4*float64(len(obs))+1e4 {
		f.cell *= 2 // a few far points must not buy an empty plain
	}
	f.cols, f.rows = int((x1-f.x0)/f.cell)+1, int((y1-f.y0)/f.cell)+1
	f.fill(obs)
	return f
}

func (f *field) fill(obs []Observation) {
	f.start = make([]int32, f.rows*f.cols+1)
	f.count = make([][4]int32, f.rows*f.cols)
	for _, o := range obs {
		c := f.at(o.X, o.Y)
		f.start[c+1]++
		f.count[c][o.Side]++
	}
	for i := range f.count {
		f.start[i+1] += f.start[i]
	}
	sorted := make([]Observation, len(obs))
	next := slices.Clone(f.start)
	for _, o := range obs {
		c := f.at(o.X, o.Y)
		sorted[next[c]] = o
		next[c]++
	}
	f.x, f.y, f.side, f.blind = make([]float64, len(obs)), make([]float64, len(obs)), make([]Side, len(obs)), make([]bool, len(obs))
	for c := range f.count {
		slices.SortFunc(sorted[f.start[c]:f.start[c+1]], compareObservations)
	}
	for i, o := range sorted {
		f.x[i], f.y[i], f.side[i], f.blind[i] = o.X, o.Y, o.Side, o.Blind
	}
}

func compareObservations(a, b Observation) int {
	return cmp.Or(cmp.Compare(a.X, b.X), cmp.Compare(a.Y, b.Y), cmp.Compare(a.Side, b.Side), cmp.Compare(rank(a.Blind), rank(b.Blind)))
}

func rank(b bool) int {
	if b {
		return 1
	}
	return 0
}

// at is the cell of a place inside the field.
func (f *field) at(x, y float64) int {
	return int((y-f.y0)/f.cell)*f.cols + int((x-f.x0)/f.cell)
}

// A window is a block of cells, rows r0 to r1-1 and columns c0 to c1-1, and of those only the ones in the mask when there is one.
type window struct {
	r0, r1, c0, c1 int
	mask           []bool
}

func (f *field) all() window { return window{0, f.rows, 0, f.cols, nil} }

// around is the window that holds the box grown by margin.
func (f *field) around(x0, y0, x1, y1, margin float64) window {
	column := func(x float64) int { return int(min(max(math.Floor((x-f.x0)/f.cell), 0), float64(f.cols-1))) }
	row := func(y float64) int { return int(min(max(math.Floor((y-f.y0)/f.cell), 0), float64(f.rows-1))) }
	return window{row(y0 - margin), row(y1+margin) + 1, column(x0 - margin), column(x1+margin) + 1, nil}
}

// eachCell calls visit for the cells of w whose middle is within margin of an edge.
func (f *field) eachCell(s *span, margin float64, w window, visit func(c int)) {
	box := f.around(min(s.ax, s.bx), min(s.ay, s.by), max(s.ax, s.bx), max(s.ay, s.by), margin)
	lo, hi := min(s.ta, s.tb)-margin, max(s.ta, s.tb)+margin
	for row := max(box.r0, w.r0); row < min(box.r1, w.r1); row++ {
		y := f.y0 + (float64(row)+0.5)*f.cell
		from, to := box.c0, box.c1
		if math.Abs(s.nx) > 1e-9 { // the strip's share of the row
			u, v := (s.d-margin-s.ny*y)/s.nx, (s.d+margin-s.ny*y)/s.nx
			strip := f.around(min(u, v), y, max(u, v), y, 0)
			from, to = max(from, strip.c0), min(to, strip.c1)
		}
		for col := max(from, w.c0); col < min(to, w.c1); col++ {
			x := f.x0 + (float64(col)+0.5)*f.cell
			if t := s.along(x, y); t >= lo && t <= hi && math.Abs(s.inward(x, y)) <= margin {
				visit(row*f.cols + col)
			}
		}
	}
}

// observations lists what the field holds in its own order, which the input's does not change.
func (f *field) observations() []Observation {
	obs := make([]Observation, len(f.x))
	for i := range obs {
		obs[i] = Observation{X: f.x[i], Y: f.y[i], Side: f.side[i], Blind: f.blind[i]}
	}
	return obs
}

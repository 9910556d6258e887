package roof

import (
	"cmp"
	"slices"

	"quoin/extract/cloud"
)

// A Cell is a square of the mask by its row and column from the frame's
// origin.
type Cell struct{ Row, Col int32 }

// A Run is a row of cells: columns Lo to Hi, the latter left out.
type Run struct{ Row, Lo, Hi int32 }

// A Cluster is a set of cells that stand apart from all others: at least two
// other cells lie between.
type Cluster struct {
	// Runs are the cells, by row, then column.
	Runs []Run
	// Bounds is the smallest rectangle that holds the cells.
	Bounds cloud.Rect
}

// First returns the lowest, then leftmost cell. No other cluster has it, so it
// names the cluster by the data alone.
func (c *Cluster) First() Cell { return Cell{c.Runs[0].Row, c.Runs[0].Lo} }

// bytesPerPoint is about what Segment needs for each point of a cluster.
const bytesPerPoint = 200

// Memory returns about how many bytes Segment needs for a cluster.
func (c *Cluster) Memory(b *cloud.Block, m cloud.Measures) (bytes int64) {
	for _, r := range c.Runs {
		for s := range b.Spans(r.rect(CellSize(m))) {
			bytes += bytesPerPoint * int64(s.Hi-s.Lo)
		}
	}
	return bytes
}

// reach is how many cells apart two cells may be to be of one cluster. Two
// make the cells next to one cluster differ from those next to any other.
const reach = 2

// Mask returns the cells of core in which roof-like points prevail, and those
// in which something else stands at least two metres above ground. The edges
// of core lie on whole cells, as those of a unit do.
func Mask(b *cloud.Block, hag []float32, features []Feature, core cloud.Rect, m cloud.Measures) (roofs, others []Run) {
	g := cloud.NewGrid(core, CellSize(m))
	counts := make([]struct{ like, above, tall uint32 }, g.Len())
	for i := range b.In(core) {
		if !features[i].Above() {
			continue
		}
		c, _ := g.Index(b.Points[i].East(), b.Points[i].North())
		counts[c].above++
		if features[i].RoofLike() {
			counts[c].like++
		}
		if hag[i] >= tall {
			counts[c].tall++
		}
	}
	like := func(c int) bool { return counts[c].like > 0 && 3*counts[c].like >= counts[c].above }
	other := func(c int) bool { return counts[c].tall > 0 && !like(c) }
	return runs(g, like), runs(g, other)
}

// tall is the height above ground, in metres, from which vegetation and other
// things that are no roofs are held back rather than passed over.
const tall = 2

func runs(g cloud.Grid, in func(cell int) bool) []Run {
	var list []Run
	for row := range g.Rows {
		for col := 0; col < g.Cols; col++ {
			if !in(row*g.Cols + col) {
				continue
			}
			lo := col
			for col < g.Cols && in(row*g.Cols+col) {
				col++
			}
			list = append(list, Run{int32(g.Row0 + row), int32(g.Col0 + lo), int32(g.Col0 + col)})
		}
	}
	return list
}

// Gather joins the cells of all units into clusters, in the order of their
// first cells. Cells at most two rows and columns apart are of one cluster.
// The runs may come in any order; they are sorted in place.
func Gather(list []Run, m cloud.Measures) []Cluster {
	slices.SortFunc(list, compareRuns)
	u := newUnion(len(list))
	starts := rowStarts(list)
	for k := range len(starts) - 1 {
		joinRow(u, list, starts[k], starts[k+1], starts[k], starts[k+1])
		for j := k + 1; j < len(starts)-1 && list[starts[j]].Row-list[starts[k]].Row <= reach; j++ {
			joinRow(u, list, starts[k], starts[k+1], starts[j], starts[j+1])
		}
	}
	of, n := u.number()
	clusters := make([]Cluster, n)
	cell := CellSize(m)
	for i, r := range list {
		c := &clusters[of[i]]
		c.Runs = append(c.Runs, r)
		c.Bounds = c.Bounds.Union(r.rect(cell))
	}
	return clusters
}

func compareRuns(a, b Run) int {
	return cmp.Or(cmp.Compare(a.Row, b.Row), cmp.Compare(a.Lo, b.Lo))
}

func (r Run) rect(cell float64) cloud.Rect {
	return cloud.Rect{
		MinX: float64(r.Lo) * cell, MinY: float64(r.Row) * cell,
		MaxX: float64(r.Hi) * cell, MaxY: float64(r.Row+1) * cell,
	}
}

// rowStarts returns where each row of sorted runs begins, and their number.
func rowStarts(list []Run) []int {
	var starts []int
	for i := range list {
		if i == 0 || list[i].Row != list[i-1].Row {
			starts = append(starts, i)
		}
	}
	return append(starts, len(list))
}

// joinRow joins the runs of one row that lie close to runs of another, or of
// the same.
func joinRow(u union, list []Run, aLo, aHi, bLo, bHi int) {
	j := bLo
	for i := aLo; i < aHi; i++ {
		for j < bHi && list[j].Hi+reach <= list[i].Lo {
			j++
		}
		for k := j; k < bHi && list[k].Lo < list[i].Hi+reach; k++ {
			u.join(int32(i), int32(k))
		}
	}
}

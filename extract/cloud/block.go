package cloud

import (
	"iter"
	"math"
	"slices"
)

// UnitSize is the side of a unit of work in metres. Units are anchored on the
// origin of the CRS: scheduling may change, what a unit holds may not.
const UnitSize = 256

// indexCell is the side of an index cell in metres.
const indexCell = 1

const unitCells = UnitSize / indexCell

// A Block is the points of one job in canonical order with an index by
// position. It is not changed once built, so concurrent reads are safe.
//
// Points are ordered by unit, then by row and column of 1 m cells, then by
// all their fields: the order follows from the set of points alone.
type Block struct {
	Frame  Frame
	Points []Point
	// HasTime and HasReturns say whether time and return numbers carry
	// information in every file.
	HasTime, HasReturns bool

	units []unit // sorted by row, then column
}

type unit struct {
	row, col int32
	start    int      // index of its first point
	cells    []uint32 // unitCells²+1 offsets from start
}

// A Span is a run of points: indices Lo to Hi, the latter left out.
type Span struct{ Lo, Hi int }

// Len returns the number of points.
func (b *Block) Len() int { return len(b.Points) }

// Bounds returns the smallest rectangle that holds all points.
func (b *Block) Bounds() Rect {
	if len(b.Points) == 0 {
		return Rect{}
	}
	minX, minY, maxX, maxY := int32(math.MaxInt32), int32(math.MaxInt32), int32(math.MinInt32), int32(math.MinInt32)
	for i := range b.Points {
		p := &b.Points[i]
		minX, maxX = min(minX, p.X), max(maxX, p.X)
		minY, maxY = min(minY, p.Y), max(maxY, p.Y)
	}
	return Rect{float64(minX) * Step, float64(minY) * Step, float64(maxX+1) * Step, float64(maxY+1) * Step}
}

// Units returns the rectangles of the units that hold points, in order.
func (b *Block) Units() []Rect {
	rects := make([]Rect, len(b.units))
	for i, u := range b.units {
		rects[i] = u.rect()
	}
	return rects
}

func (u unit) rect() Rect {
	x, y := float64(u.col)*UnitSize, float64(u.row)*UnitSize
	return Rect{x, y, x + UnitSize, y + UnitSize}
}

// Spans returns the runs of points in the index cells that a rectangle
// touches, in canonical order. A run may hold points just outside it.
func (b *Block) Spans(r Rect) iter.Seq[Span] {
	return func(yield func(Span) bool) {
		for i := range b.units {
			if !b.units[i].spans(r, yield) {
				return
			}
		}
	}
}

func (u *unit) spans(r Rect, yield func(Span) bool) bool {
	box := u.rect()
	part := box.Intersect(r)
	if part.Empty() {
		return true
	}
	row0, row1 := cellRange(part.MinY-box.MinY, part.MaxY-box.MinY)
	col0, col1 := cellRange(part.MinX-box.MinX, part.MaxX-box.MinX)
	for row := row0; row < row1; row++ {
		lo, hi := u.cells[row*unitCells+col0], u.cells[row*unitCells+col1]
		if lo < hi && !yield(Span{u.start + int(lo), u.start + int(hi)}) {
			return false
		}
	}
	return true
}

func cellRange(lo, hi float64) (from, to int) {
	from = int(math.Floor(lo / indexCell))
	to = min(int(math.Ceil(hi/indexCell)), unitCells)
	return from, to
}

// In returns the indices of the points inside a rectangle, in canonical order.
func (b *Block) In(r Rect) iter.Seq[int] {
	return func(yield func(int) bool) {
		for s := range b.Spans(r) {
			for i := s.Lo; i < s.Hi; i++ {
				p := &b.Points[i]
				if r.Contains(p.East(), p.North()) && !yield(i) {
					return
				}
			}
		}
	}
}

// NewBlock puts points into canonical order, drops exact repetitions, and
// indexes them. It takes the slice over. Repetitions come from files that
// overlap; counting them twice would promise too much accuracy.
func NewBlock(frame Frame, points []Point) (block *Block, repeated int) {
	b := &Block{Frame: frame, Points: sorted(points)}
	kept := slices.CompactFunc(b.Points, func(a, b Point) bool { return less(&a, &b) == 0 })
	repeated = len(points) - len(kept)
	b.Points = kept
	b.index()
	return b, repeated
}

const stepsPerMetre = 10000

// floorDiv returns the number of the interval of the given metres that a
// packed coordinate lies in.
func floorDiv(v, metres int32) int32 {
	d := metres * stepsPerMetre
	q := v / d
	if v%d < 0 {
		q--
	}
	return q
}

func (b *Block) index() {
	for lo := 0; lo < len(b.Points); {
		first := &b.Points[lo]
		u := unit{row: floorDiv(first.Y, UnitSize), col: floorDiv(first.X, UnitSize), start: lo}
		hi := lo
		for hi < len(b.Points) && u.holds(&b.Points[hi]) {
			hi++
		}
		u.count(b.Points[lo:hi])
		b.units = append(b.units, u)
		lo = hi
	}
}

func (u *unit) holds(p *Point) bool {
	return floorDiv(p.Y, UnitSize) == u.row && floorDiv(p.X, UnitSize) == u.col
}

func (u *unit) count(points []Point) {
	u.cells = make([]uint32, unitCells*unitCells+1)
	for i := range points {
		row := floorDiv(points[i].Y, indexCell) - u.row*unitCells
		col := floorDiv(points[i].X, indexCell) - u.col*unitCells
		u.cells[row*unitCells+col+1]++
	}
	for i := 1; i < len(u.cells); i++ {
		u.cells[i] += u.cells[i-1]
	}
}

package cloud

import (
	"context"
	"errors"
	"iter"
	"math"
	"slices"

	"quoin/vector"
	"quoin/vector/scratch"
)

// UnitSize is the side of a unit of work in metres. Units are anchored on the
// origin of the CRS: scheduling may change, what a unit holds may not.
const UnitSize = 256

// indexCell is the side of an index cell in metres.
const indexCell = 1

const unitCells = UnitSize / indexCell

// A Block is the points of one job in canonical order with an index by
// position. It is not changed once built, so concurrent reads are safe. One
// that does not fit into memory is kept in a store, as slices that are on disk.
//
// Points are ordered by unit, then by row and column of 1 m cells, then by
// all their fields: the order follows from the set of points alone.
type Block struct {
	Frame  Frame
	Points []Point
	// HasTime and HasReturns say whether time and return numbers carry
	// information in every file.
	HasTime, HasReturns bool
	// Store is where arrays as long as the block are kept; nil for memory.
	Store *scratch.Store

	units  []unit // sorted by row, then column
	bounds Rect
}

type unit struct {
	row, col int32
	start    int      // index of its first point
	end      int      // one beyond that of its last
	cells    []uint32 // unitCells²+1 offsets from start
}

// A Span is a run of points: indices Lo to Hi, the latter left out.
type Span struct{ Lo, Hi int }

// Len returns the number of points.
func (b *Block) Len() int { return len(b.Points) }

// Bounds returns the smallest rectangle that holds all points.
func (b *Block) Bounds() Rect { return b.bounds }

// A box is the smallest and the largest coordinates of some points, in steps.
type box struct{ minX, minY, maxX, maxY int32 }

func boxOf(points []Point) box {
	b := box{math.MaxInt32, math.MaxInt32, math.MinInt32, math.MinInt32}
	for i := range points {
		p := &points[i]
		b.minX, b.maxX = min(b.minX, p.X), max(b.maxX, p.X)
		b.minY, b.maxY = min(b.minY, p.Y), max(b.maxY, p.Y)
	}
	return b
}

func (b box) union(o box) box {
	return box{min(b.minX, o.minX), min(b.minY, o.minY), max(b.maxX, o.maxX), max(b.maxY, o.maxY)}
}

func (b box) rect() Rect {
	if b.minX > b.maxX {
		return Rect{}
	}
	return Rect{float64(b.minX) * Step, float64(b.minY) * Step, float64(b.maxX+1) * Step, float64(b.maxY+1) * Step}
}

// Units returns the rectangles of the units that hold points, in order.
func (b *Block) Units() []Rect {
	rects := make([]Rect, len(b.units))
	for i, u := range b.units {
		rects[i] = u.rect()
	}
	return rects
}

// UnitSpans returns the runs of points of the units, in order.
func (b *Block) UnitSpans() []Span {
	spans := make([]Span, len(b.units))
	for i, u := range b.units {
		spans[i] = Span{u.start, u.end}
	}
	return spans
}

func (u unit) rect() Rect {
	x, y := float64(u.col)*UnitSize, float64(u.row)*UnitSize
	return Rect{x, y, x + UnitSize, y + UnitSize}
}

// Spans returns the runs of points in the index cells that a rectangle
// touches, in canonical order. A run may hold points just outside it.
func (b *Block) Spans(r Rect) iter.Seq[Span] {
	return func(yield func(Span) bool) {
		part := r.Intersect(b.bounds)
		if part.Empty() {
			return
		}
		lo := unitKey{unitOf(part.MinY), unitOf(part.MinX)}
		hi := unitKey{unitOf(part.MaxY), unitOf(part.MaxX)}
		for i := b.unitFrom(lo); i < len(b.units) && b.units[i].row <= hi.row; {
			switch u := &b.units[i]; {
			case u.col < lo.col:
				i = b.unitFrom(unitKey{u.row, lo.col})
			case u.col > hi.col:
				i = b.unitFrom(unitKey{u.row + 1, lo.col})
			case !u.spans(r, yield):
				return
			default:
				i++
			}
		}
	}
}

func unitOf(v float64) int32 { return int32(math.Floor(v / UnitSize)) }

// unitFrom returns the place of the first unit that is not before a key.
func (b *Block) unitFrom(key unitKey) int {
	i, _ := slices.BinarySearchFunc(b.units, key, func(u unit, k unitKey) int { return unitKey{u.row, u.col}.compare(k) })
	return i
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
// indexes them, in memory. Repetitions come from files that
// overlap; counting them twice would promise too much accuracy.
func NewBlock(frame Frame, points []Point) (block *Block, repeated int) {
	l := newLoader(vector.CRS{}, nil)
	l.origin, l.slab = frame, points
	err := l.flush()
	a := newAssembly(frame, []*loader{l}, nil)
	if err = errors.Join(err, a.order(context.Background())); err != nil {
		panic(err) // memory does not fail
	}
	return a.block, int(a.repeated)
}

const stepsPerMetre = 10000

// floorDiv returns the number of the interval of the given metres that a
// packed coordinate lies in.
func floorDiv(v, metres int32) int32 {
	return floorOf(v, metres*stepsPerMetre)
}

// floorOf is v/d rounded down.
func floorOf(v, d int32) int32 {
	q := v / d
	if v%d < 0 {
		q--
	}
	return q
}

func (u *unit) count(points []Point) {
	for i := range points {
		row := floorDiv(points[i].Y, indexCell) - u.row*unitCells
		col := floorDiv(points[i].X, indexCell) - u.col*unitCells
		u.cells[row*unitCells+col+1]++
	}
	for i := 1; i < len(u.cells); i++ {
		u.cells[i] += u.cells[i-1]
	}
}

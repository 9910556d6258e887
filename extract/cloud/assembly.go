package cloud

import (
	"context"
	"math"
	"slices"
	"sync"

	"quoin/vector/scratch"
)

// A run is points of one unit that were read together.
type run struct {
	points []Point
	from   *loader // in whose frame they are
}

// A crate is what was read of one unit.
type crate struct {
	key   unitKey // in the block's frame
	runs  []*run
	count int
}

// A piece is rows of cells of a unit: row0 to row1, the latter left out. Most
// are whole units.
type piece struct {
	*crate
	row0, row1 int32
	most       int // points that may be in it
	kept       int

	noise, doubted, repeated uint64
}

const (
	// pieceMost is what the pieces of an assembly hold: 96 MiB, and as much again.
	pieceMost = 1 << 22
	// pieceShare is the number of bytes allowed for each point in a piece: one in
	// sixteen of them for a piece and as many for those beside it.
	pieceShare = 16 * 24
	// wavePieces is the number of the largest pieces after which pieces are pushed
	// together.
	wavePieces = 4
)

// An assembly puts what was read into a block.
type assembly struct {
	block    *Block
	store    *scratch.Store
	crates   []*crate                // in order
	home     mass                    // squares whose points are kept; nil for all
	surfaces map[unitKey]*noisePlain // where noise is a surface; nil to keep all
	loaders  []*loader
	// pieceMost is the number of points that are put in order at once, if they
	// are of more than one row of cells.
	pieceMost int
	second    sync.Pool // arrays for sortRows, *[]Point

	noise, doubted, repeated uint64
	classes                  [256]uint64
}

// newAssembly collects the runs of all loaders by unit. The origins of frames
// lie whole units apart.
func newAssembly(frame Frame, loaders []*loader, store *scratch.Store) *assembly {
	a := &assembly{block: &Block{Frame: frame, Store: store}, store: store, loaders: loaders, pieceMost: pieceMost}
	of := make(map[unitKey]*crate)
	for _, l := range loaders {
		dx, dy := l.shift(frame)
		const unit = UnitSize * stepsPerMetre
		for key, runs := range l.runs {
			key.row, key.col = key.row+int32(dy/unit), key.col+int32(dx/unit)
			c := of[key]
			if c == nil {
				c = &crate{key: key}
				of[key], a.crates = c, append(a.crates, c)
			}
			c.runs = append(c.runs, runs...)
			for _, r := range runs {
				c.count += len(r.points)
			}
		}
		l.runs = nil
	}
	slices.SortFunc(a.crates, func(p, q *crate) int { return p.key.compare(q.key) })
	return a
}

// shift returns what brings the loader's coordinates to a frame.
func (l *loader) shift(to Frame) (dx, dy int64) {
	return int64(math.Round((l.origin.OriginE - to.OriginE) / Step)), int64(math.Round((l.origin.OriginN - to.OriginN) / Step))
}

// settleOn leaves out the points that do not lie on the mainland, and returns
// their numbers, those classed as noise apart.
func (a *assembly) settleOn(home mass) (stray, noise uint64) {
	for _, l := range a.loaders {
		for s, n := range l.squares {
			if _, ok := home[s]; !ok {
				stray += uint64(n)
			}
		}
		for s, n := range l.noisy {
			if _, ok := home[s]; !ok {
				noise += uint64(n)
			}
		}
	}
	if stray+noise > 0 {
		a.home = home
	}
	return stray, noise
}

// each yields the points of a crate that are on the mainland, in the block's
// frame.
func (a *assembly) each(c *crate, yield func(p Point)) {
	for _, r := range c.runs {
		dx, dy := r.from.shift(a.block.Frame)
		var at square
		known, in := false, true
		for _, p := range r.points {
			if a.home != nil {
				if s := r.from.squareOf(&p); !known || s != at {
					at, known = s, true
					_, in = a.home[s]
				}
				if !in {
					continue
				}
			}
			p.X, p.Y = int32(int64(p.X)+dx), int32(int64(p.Y)+dy)
			yield(p)
		}
	}
}

// order fills the block: piece by piece, several at once, each where it would
// begin if nothing were left out of those before it, and then pushed together.
func (a *assembly) order(ctx context.Context) error {
	pieces, total := a.pieces()
	points, err := scratch.Array[Point](a.store, total)
	if err != nil {
		return err
	}
	n := 0
	for lo := 0; lo < len(pieces); {
		if err := ctx.Err(); err != nil {
			return err
		}
		hi, starts := lo, []int{n}
		for hi < len(pieces) && starts[hi-lo] < n+wavePieces*a.pieceMost {
			starts = append(starts, starts[hi-lo]+pieces[hi].most)
			hi++
		}
		parallel(hi-lo, func(i int) { a.fill(pieces[lo+i], points[starts[i]:starts[i+1]]) })
		for i, p := range pieces[lo:hi] {
			copy(points[n:], points[starts[i]:starts[i]+p.kept])
			n += p.kept
			a.noise, a.doubted, a.repeated = a.noise+p.noise, a.doubted+p.doubted, a.repeated+p.repeated
		}
		lo = hi
	}
	a.block.Points = points[:n:n]
	return a.index(pieces)
}

// pieces divides the crates, and returns how many points there are at most.
func (a *assembly) pieces() (pieces []*piece, total int) {
	for _, c := range a.crates {
		total += c.count
		if c.count <= a.pieceMost {
			pieces = append(pieces, &piece{crate: c, row1: unitCells, most: c.count})
			continue
		}
		var rows [unitCells]int
		a.each(c, func(p Point) { rows[floorDiv(p.Y, indexCell)-c.key.row*unitCells]++ })
		next := &piece{crate: c}
		for row, n := range rows {
			if next.most > 0 && next.most+n > a.pieceMost {
				next.row1 = int32(row)
				pieces = append(pieces, next)
				next = &piece{crate: c, row0: int32(row)}
			}
			next.most += n
		}
		next.row1 = unitCells
		pieces = append(pieces, next)
	}
	return pieces, total
}

// fill writes the points of a piece in order.
func (a *assembly) fill(p *piece, into []Point) {
	whole, n := p.row1-p.row0 == unitCells, 0
	a.each(p.crate, func(q Point) {
		if row := floorDiv(q.Y, indexCell) - p.key.row*unitCells; !whole && (row < p.row0 || row >= p.row1) {
			return
		}
		if isNoise(q.Class) {
			if !a.keepsNoise(&q) {
				p.noise++
				return
			}
			p.doubted++
		}
		into[n] = q
		n++
	})
	into = into[:n]
	second, _ := a.second.Get().(*[]Point)
	if second == nil || len(*second) < n {
		second = new([]Point)
		*second = make([]Point, n)
	}
	sortRows(into, (*second)[:n], p.key, p.row0, p.row1)
	a.second.Put(second)
	p.kept = len(slices.CompactFunc(into, func(a, b Point) bool { return less(&a, &b) == 0 }))
	p.repeated = uint64(n - p.kept)
}

// index makes the units of the block.
func (a *assembly) index(pieces []*piece) error {
	b, at := a.block, 0
	for i, p := range pieces {
		if p.kept == 0 {
			continue
		}
		k := len(b.units)
		if i > 0 && k > 0 && b.units[k-1].row == p.key.row && b.units[k-1].col == p.key.col {
			b.units[k-1].end += p.kept
		} else {
			b.units = append(b.units, unit{row: p.key.row, col: p.key.col, start: at, end: at + p.kept})
		}
		at += p.kept
	}
	cells, err := scratch.Array[uint32](a.store, len(b.units)*(unitCells*unitCells+1))
	if err != nil {
		return err
	}
	classes, boxes := make([][256]uint64, len(b.units)), make([]box, len(b.units))
	parallel(len(b.units), func(i int) {
		const n = unitCells*unitCells + 1
		u := &b.units[i]
		u.cells = cells[i*n : (i+1)*n : (i+1)*n]
		u.count(b.Points[u.start:u.end])
		for k := u.start; k < u.end; k++ {
			classes[i][b.Points[k].Class]++
		}
		boxes[i] = boxOf(b.Points[u.start:u.end])
	})
	whole := boxOf(nil)
	for i := range classes {
		whole = whole.union(boxes[i])
		for class, n := range classes[i] {
			a.classes[class] += n
		}
	}
	b.bounds = whole.rect()
	return nil
}

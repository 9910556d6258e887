package cloud

import (
	"context"
	"errors"
	"fmt"
	"math"

	"github.com/paulmach/orb"
	"golang.org/x/sync/errgroup"

	"quoin/vector"
	"quoin/vector/scratch"
)

// BytesPerPoint is the memory that a block needs for each point while it is
// built and worked on in memory: the points twice while they are sorted, or
// once and what the stages keep beside them.
const BytesPerPoint = 120

// mostPoints is the largest number of points in a block: the stages number
// them with 32 bits.
const mostPoints = math.MaxInt32

// ErrNoPoints is returned when nothing usable was read.
var ErrNoPoints = errors.New("no usable point in any file")

// A TooLargeError says that the points do not fit into the memory allowed.
type TooLargeError struct {
	Points         uint64
	Needed, Memory int64
}

func (e *TooLargeError) Error() string {
	if e.Points > mostPoints {
		return fmt.Sprintf("%d points are more than a block can hold, %d: give fewer files at a time", e.Points, mostPoints)
	}
	return fmt.Sprintf("%d points need about %d MiB of memory, %d MiB are allowed: raise --memory, or give fewer files at a time",
		e.Points, e.Needed>>20, e.Memory>>20)
}

// Census counts what became of the points that were read.
type Census struct {
	Read     uint64      `json:"read"`
	Withheld uint64      `json:"withheld"`     // flagged as withheld
	Noise    uint64      `json:"noise"`        // ASPRS classes 7 and 18
	Doubted  uint64      `json:"noise_kept"`   // classed so, but surfaces or too many
	Invalid  uint64      `json:"not_a_number"` // a coordinate that is no number
	Stray    uint64      `json:"stray"`        // far away from all others
	Repeated uint64      `json:"repeated"`     // the same to the last field
	Kept     uint64      `json:"kept"`         // in the block
	Classes  [256]uint64 `json:"-"`            // of the points kept
}

func (c *Census) add(o *Census) {
	c.Read += o.Read
	c.Withheld += o.Withheld
	c.Noise += o.Noise
	c.Invalid += o.Invalid
	c.Stray += o.Stray
}

// LoadOptions govern Load.
type LoadOptions struct {
	// Workers is the number of files read at once, at least 1.
	Workers int
	// Memory is the number of bytes that the block may need in memory.
	Memory int64
	// Store is where a block is kept that needs more; nil to refuse it.
	Store *scratch.Store
	// Progress is called with the number of points of each batch, from any
	// goroutine; it may be nil.
	Progress func(points int)
}

// Load reads all points of all sources into one block. The CRS must have both
// its units. The block does not depend on the order of sources or points, nor
// on the number of workers, nor on where it is kept.
//
// Points that are withheld, not a number, or far from all others are left out
// and counted; those classed as noise too, unless they are more than a twentieth
// of all or make up a surface. Errors: of the sources and the store,
// *TooLargeError, ErrNoPoints, or the context's.
func Load(ctx context.Context, sources []Source, crs vector.CRS, o LoadOptions) (*Block, Census, error) {
	var count uint64
	for _, s := range sources {
		count += s.Info().Count
	}
	store := o.Store
	if needed := count * BytesPerPoint; count <= mostPoints && int64(needed) <= o.Memory {
		store = nil
	} else if store == nil || count > mostPoints {
		return nil, Census{}, &TooLargeError{count, int64(min(needed, math.MaxInt64)), o.Memory}
	}
	read := store.Branch() // the points as they came, done with when they are in order
	defer read.Close()
	loaders := make([]*loader, len(sources))
	group, inner := errgroup.WithContext(ctx)
	group.SetLimit(max(o.Workers, 1))
	for i, s := range sources {
		group.Go(func() error {
			loaders[i] = newLoader(crs, read)
			return loaders[i].read(inner, s, o.Progress)
		})
	}
	if err := group.Wait(); err != nil {
		return nil, Census{}, err
	}
	o.Store = store
	return assemble(ctx, loaders, crs, o)
}

// assemble brings the points of all loaders to one frame.
func assemble(ctx context.Context, loaders []*loader, crs vector.CRS, o LoadOptions) (*Block, Census, error) {
	var census Census
	hasTime, hasReturns := true, true
	for _, l := range loaders {
		census.add(&l.census)
		if l.census.Read > 0 {
			hasTime, hasReturns = hasTime && l.hasTime, hasReturns && l.hasReturns
		}
	}
	home := mainland(occupied(loaders))
	if len(home) == 0 {
		return nil, census, ErrNoPoints
	}
	frame, err := home.frame(crs)
	if err != nil {
		return nil, census, err
	}
	a := newAssembly(frame, loaders, o.Store)
	if o.Store != nil {
		a.pieceMost = max(min(a.pieceMost, int(o.Memory/pieceShare)), slabSize/16)
	}
	stray, noise := a.settleOn(home)
	census.Stray, census.Noise = census.Stray+stray, census.Noise+noise
	if float64(census.Stray) > strayShare*float64(census.Read) {
		return nil, census, fmt.Errorf("%d of %d points lie far from all others: give the files of one site at a time, in one CRS", census.Stray, census.Read)
	}
	a.judgeNoise()
	if err := a.order(ctx); err != nil {
		return nil, census, err
	}
	block := a.block
	block.HasTime, block.HasReturns = hasTime, hasReturns
	census.Noise, census.Doubted = census.Noise+a.noise, a.doubted
	census.Repeated = a.repeated
	census.Kept = uint64(block.Len())
	census.Classes = a.classes
	return block, census, nil
}

// strayShare is the share of points far away up to which they are taken for
// garbage. More of them are data of another place.
const strayShare = 0.01

// slabSize is the number of points that are put in order of units at a time:
// 24 MiB of them.
const slabSize = 1 << 20

// farthest is how far from the origin of any CRS, in metres, coordinates can
// mean a place: beyond, steps cannot be told apart.
const farthest = 1e10

// A loader packs the points of one source about an origin of its own, since
// that of the block is known only when all have been read, and puts them into
// the store by unit.
type loader struct {
	crs                 vector.CRS
	store               *scratch.Store
	origin              Frame
	lost                bool               // the origin is nowhere, and so is every point
	slab                []Point            // not in the store yet
	runs                map[unitKey][]*run // by unit of the loader's own frame
	squares, noisy      map[square]int     // points by square, those classed as noise apart
	census              Census
	hasTime, hasReturns bool
}

func newLoader(crs vector.CRS, store *scratch.Store) *loader {
	return &loader{
		crs: crs, store: store, runs: make(map[unitKey][]*run),
		squares: make(map[square]int), noisy: make(map[square]int),
	}
}

func (l *loader) read(ctx context.Context, s Source, progress func(int)) error {
	l.slab = make([]Point, 0, min(s.Info().Count, slabSize))
	for batch, err := range s.Batches(ctx) {
		if err != nil {
			return err
		}
		if err := ctx.Err(); err != nil {
			return err
		}
		if err := l.add(batch); err != nil {
			return err
		}
		if progress != nil {
			progress(batch.Len())
		}
	}
	err := l.flush()
	l.slab = nil
	return err
}

func (l *loader) add(b *Batch) error {
	if l.census.Read == 0 {
		l.origin = NewFrame(medianPoint(b), l.crs)
		l.lost = math.Abs(l.origin.OriginE) > farthest || math.Abs(l.origin.OriginN) > farthest
	}
	l.census.Read += uint64(b.Len())
	for i := range b.X {
		switch {
		case b.Flags[i]&Withheld != 0:
			l.census.Withheld++
		case !finite(b.X[i]) || !finite(b.Y[i]) || !finite(b.Z[i]):
			l.census.Invalid++
		default:
			l.pack(b, i)
			if len(l.slab) >= slabSize {
				if err := l.flush(); err != nil {
					return err
				}
			}
		}
	}
	return nil
}

// flush puts the points that were packed into the store.
func (l *loader) flush() error {
	ordered, err := scratch.Array[Point](l.store, len(l.slab))
	if err != nil {
		return err
	}
	for _, u := range byUnit(l.slab, ordered) {
		l.runs[u.key] = append(l.runs[u.key], &run{ordered[u.start : u.start+u.count], l})
	}
	l.slab = l.slab[:0]
	l.store.Trim()
	return nil
}

func (l *loader) pack(b *Batch, i int) {
	x := pack(b.X[i], l.origin.Horizontal, l.origin.OriginE)
	y := pack(b.Y[i], l.origin.Horizontal, l.origin.OriginN)
	z := pack(b.Z[i], l.origin.Vertical, 0)
	switch fit := !l.lost && fits(x) && fits(y) && fits(z); {
	case !fit && isNoise(b.Class[i]):
		l.census.Noise++
		return
	case !fit:
		l.census.Stray++
		return
	}
	p := Point{X: int32(x), Y: int32(y), Z: int32(z)}
	a := Attributes{
		Source: b.Source[i], Class: b.Class[i], Return: b.Return[i], Returns: b.Returns[i],
		ScanAngle: b.ScanAngle[i], Flags: b.Flags[i],
	}
	if b.Time != nil {
		a.Time = b.Time[i]
		l.hasTime = l.hasTime || a.Time != 0
	}
	l.hasReturns = l.hasReturns || a.Returns > 1
	p.setAttributes(a)
	l.slab = append(l.slab, p)
	if isNoise(p.Class) {
		l.noisy[l.squareOf(&p)]++
	} else {
		l.squares[l.squareOf(&p)]++
	}
}

// occupied counts the points of all loaders by squares, with those classed as
// noise only where they are too many to be noise.
func occupied(loaders []*loader) map[square]int {
	squares, noisy := make(map[square]int), make(map[square]int)
	all, noise := 0, 0
	for _, l := range loaders {
		for s, n := range l.squares {
			squares[s], all = squares[s]+n, all+n
		}
		for s, n := range l.noisy {
			noisy[s], noise = noisy[s]+n, noise+n
		}
	}
	if float64(noise) > noiseShare*float64(all+noise) {
		for s, n := range noisy {
			squares[s] += n
		}
	}
	return squares
}

func (l *loader) squareOf(p *Point) square {
	return square{
		int32(math.Floor((l.origin.OriginE + p.East()) / squareSize)),
		int32(math.Floor((l.origin.OriginN + p.North()) / squareSize)),
	}
}

func fits(v int64) bool { return v >= math.MinInt32 && v <= math.MaxInt32 }

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

// medianPoint is a place among a batch's points that no single garbage point
// can move.
func medianPoint(b *Batch) orb.Point {
	return orb.Point{median(b.X), median(b.Y)}
}

package cloud

import (
	"context"
	"errors"
	"fmt"
	"math"

	"github.com/paulmach/orb"
	"golang.org/x/sync/errgroup"

	"quoin/vector"
)

// BytesPerPoint is the memory that a block needs for each point while it is
// built and worked on: the points twice while they are sorted, and what the
// stages keep beside them.
const BytesPerPoint = 160

// ErrNoPoints is returned when nothing usable was read.
var ErrNoPoints = errors.New("no usable point in any file")

// A TooLargeError says that the points do not fit into the memory allowed.
type TooLargeError struct {
	Points         uint64
	Needed, Memory int64
}

func (e *TooLargeError) Error() string {
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
	// Memory is the number of bytes that the block may need.
	Memory int64
	// Progress is called with the number of points of each batch, from any
	// goroutine; it may be nil.
	Progress func(points int)
}

// Load reads all points of all sources into one block. The CRS must have both
// its units. The block does not depend on the order of sources or points, nor
// on the number of workers.
//
// Points that are withheld, not a number, or far from all others are left out
// and counted; those classed as noise too, unless they are more than a twentieth
// of all or make up a surface. Errors: of the sources, *TooLargeError,
// ErrNoPoints, or the context's.
func Load(ctx context.Context, sources []Source, crs vector.CRS, o LoadOptions) (*Block, Census, error) {
	var count uint64
	for _, s := range sources {
		count += s.Info().Count
	}
	if needed := count * BytesPerPoint; count > math.MaxInt64/BytesPerPoint || int64(needed) > o.Memory {
		return nil, Census{}, &TooLargeError{count, int64(min(needed, math.MaxInt64)), o.Memory}
	}
	loaders := make([]*loader, len(sources))
	group, ctx := errgroup.WithContext(ctx)
	group.SetLimit(max(o.Workers, 1))
	for i, s := range sources {
		group.Go(func() error {
			loaders[i] = newLoader(crs)
			return loaders[i].read(ctx, s, o.Progress)
		})
	}
	if err := group.Wait(); err != nil {
		return nil, Census{}, err
	}
	return assemble(loaders, crs)
}

// assemble brings the points of all loaders to one frame.
func assemble(loaders []*loader, crs vector.CRS) (*Block, Census, error) {
	var census Census
	for _, l := range loaders {
		census.add(&l.census)
	}
	home := mainland(occupied(loaders))
	if len(home) == 0 {
		return nil, census, ErrNoPoints
	}
	frame, err := home.frame(crs)
	if err != nil {
		return nil, census, err
	}
	var points []Point
	hasTime, hasReturns := true, true
	for _, l := range loaders {
		kept, stray, noise := l.shifted(frame, home)
		points = append(points, kept...)
		census.Stray, census.Noise = census.Stray+stray, census.Noise+noise
		l.slabs = nil
		if l.census.Read > 0 {
			hasTime, hasReturns = hasTime && l.hasTime, hasReturns && l.hasReturns
		}
	}
	if float64(census.Stray) > strayShare*float64(census.Read) {
		return nil, census, fmt.Errorf("%d of %d points lie far from all others: give the files of one site at a time, in one CRS", census.Stray, census.Read)
	}
	points, noise, doubted := withoutNoise(points)
	census.Noise, census.Doubted = census.Noise+noise, doubted
	block, repeated := NewBlock(frame, points)
	block.HasTime, block.HasReturns = hasTime, hasReturns
	census.Repeated = uint64(repeated)
	census.Kept = uint64(block.Len())
	for i := range block.Points {
		census.Classes[block.Points[i].Class]++
	}
	return block, census, nil
}

// strayShare is the share of points far away up to which they are taken for
// garbage. More of them are data of another place.
const strayShare = 0.01

// slabSize is the number of points that memory is taken for at a time.
const slabSize = 1 << 16

// A loader packs the points of one source about an origin of its own, since
// that of the block is known only when all have been read.
type loader struct {
	crs                 vector.CRS
	origin              Frame
	slabs               [][]Point
	squares, noisy      map[square]int // points by square, those classed as noise apart
	census              Census
	hasTime, hasReturns bool
}

func newLoader(crs vector.CRS) *loader {
	return &loader{crs: crs, squares: make(map[square]int), noisy: make(map[square]int)}
}

func (l *loader) read(ctx context.Context, s Source, progress func(int)) error {
	for batch, err := range s.Batches(ctx) {
		if err != nil {
			return err
		}
		if err := ctx.Err(); err != nil {
			return err
		}
		l.add(batch)
		if progress != nil {
			progress(batch.Len())
		}
	}
	return nil
}

func (l *loader) add(b *Batch) {
	if l.census.Read == 0 {
		l.origin = NewFrame(medianPoint(b), l.crs)
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
		}
	}
}

func (l *loader) pack(b *Batch, i int) {
	x := pack(b.X[i], l.origin.Horizontal, l.origin.OriginE)
	y := pack(b.Y[i], l.origin.Horizontal, l.origin.OriginN)
	z := pack(b.Z[i], l.origin.Vertical, 0)
	switch fit := fits(x) && fits(y) && fits(z); {
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
	if n := len(l.slabs); n == 0 || len(l.slabs[n-1]) == slabSize {
		l.slabs = append(l.slabs, make([]Point, 0, slabSize))
	}
	last := &l.slabs[len(l.slabs)-1]
	*last = append(*last, p)
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

// shifted returns the points that lie on the mainland, brought to the block's
// frame, and the numbers of those that do not, the ones classed as noise apart.
func (l *loader) shifted(to Frame, home mass) (kept []Point, stray, noise uint64) {
	dx := int64(math.Round((l.origin.OriginE - to.OriginE) / Step))
	dy := int64(math.Round((l.origin.OriginN - to.OriginN) / Step))
	for _, slab := range l.slabs {
		for _, p := range slab {
			if _, ok := home[l.squareOf(&p)]; !ok {
				if isNoise(p.Class) {
					noise++
				} else {
					stray++
				}
				continue
			}
			p.X, p.Y = int32(int64(p.X)+dx), int32(int64(p.Y)+dy)
			kept = append(kept, p)
		}
	}
	return kept, stray, noise
}

func fits(v int64) bool { return v >= math.MinInt32 && v <= math.MaxInt32 }

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

// medianPoint is a place among a batch's points that no single garbage point
// can move.
func medianPoint(b *Batch) orb.Point {
	return orb.Point{median(b.X), median(b.Y)}
}

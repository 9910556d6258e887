package cloud

import (
	"context"
	"iter"
	"time"

	"github.com/paulmach/orb"

	"quoin/vector"
)

// A Source is one file of points.
//
// Batches streams its points once, in file order; the batch is reused, so a
// consumer copies what it keeps. The stream ends at the first error, which is
// yielded. It may be called again, for another pass.
type Source interface {
	Info() Info
	Batches(ctx context.Context) iter.Seq2[*Batch, error]
}

// Info is what a file says of itself before any point is read. None of it is
// believed: the bounds in particular are checked against the points.
type Info struct {
	Path  string
	Count uint64
	// Bounds are the header's, in CRS units.
	Bounds     orb.Bound
	MinZ, MaxZ float64
	CRS        vector.CRS
	// Resolution is the step of the stored coordinates, in CRS units.
	Resolution [3]float64
	// Created is the file creation day; zero when the header has none.
	Created time.Time
	// HasTime, HasColour and HasReturns say which columns carry information.
	HasTime, HasColour bool
}

// A Batch is a run of points by column, all of one length. Coordinates are in
// CRS units. Time is nil where the point format has none; Red, Green and Blue
// are nil together.
type Batch struct {
	X, Y, Z          []float64
	Time             []float64 // GPS seconds, of the week or adjusted
	Intensity        []uint16
	Return, Returns  []uint8   // return number and number of returns, from 1
	Class            []uint8   // ASPRS class
	Flags            []Flag    // see Flag
	ScanAngle        []float32 // degrees from nadir, positive to the right
	Source           []uint16  // point source id: the swath
	Channel          []uint8   // scanner channel
	Red, Green, Blue []uint16
}

// Len returns the number of points.
func (b *Batch) Len() int { return len(b.X) }

// Flag is a set of the marks a LAS point can carry.
type Flag uint8

// The marks, as ASPRS LAS 1.4 R15 names them.
const (
	Synthetic Flag = 1 << iota
	KeyPoint
	Withheld
	Overlap
	ScanDirection    // the mirror moves to the left when set
	EdgeOfFlightLine // last point of a scan line
)

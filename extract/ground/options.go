package ground

import (
	"errors"
	"fmt"
	"math"

	"quoin/extract/cloud"
)

// Options govern the estimate. Lengths are metres, slopes are rise over run.
type Options struct {
	// Cell is the side of the surface's cells: 0.25, 0.5, 1 or 2, so that they
	// are anchored on the origin of the CRS and fill the coarse cells.
	Cell float64
	// Halo is how far beyond the core points are looked at.
	Halo float64
	// Tolerance is how far from the surface a ground point may lie on level
	// ground.
	Tolerance float64
	// LowDrop is how far below its surroundings a cell is no longer terrain.
	LowDrop float64
	// StepHeight is the height between neighbouring metre cells from which on
	// they are not one surface.
	StepHeight float64
	// MinWindow and MaxWindow bound the side of the windows whose lowest cell
	// is taken for ground: powers of two of metres, so that windows too are
	// anchored on the origin of the CRS. In between it follows the widest
	// raised region; regions wider than MaxWindow are terrain.
	MinWindow, MaxWindow float64
	// FacetSlope and FacetDistance are the tangent of the angle, and the
	// distance, from a facet within which a point joins the terrain.
	FacetSlope, FacetDistance float64
	// OpeningRadius is the largest radius of the opening.
	OpeningRadius float64
	// OpeningSlope is the height per metre of radius from which on what an
	// opening takes away was no terrain.
	OpeningSlope float64
	// Reach is the distance to the next ground point from which on the surface
	// counts as interpolated.
	Reach float64
}

// DefaultOptions returns options for what was measured of a block.
//
// Facet angle and distance are those of Axelsson 2000; other values are
// derived from density and noise as said in docs/ground.md.
func DefaultOptions(m cloud.Measures) Options {
	cell := cellFor(m.Density)
	return Options{
		Cell:          cell,
		Halo:          100,
		Tolerance:     min(max(4*m.SigmaZ, 0.10), 0.30),
		LowDrop:       max(0.6, 8*m.SigmaZ),
		StepHeight:    1.2,
		MinWindow:     64,
		MaxWindow:     256,
		FacetSlope:    math.Tan(14 * math.Pi / 180),
		FacetDistance: 1.4,
		OpeningRadius: 24,
		OpeningSlope:  0.3,
		Reach:         max(1.5*cell, 2*m.Spacing),
	}
}

// cellFor returns the cell that holds at least one or two points.
func cellFor(density float64) float64 {
	switch {
	case density >= 3:
		return 0.5
	case density >= 0.75:
		return 1
	}
	return 2
}

// coarse is the side of the cells whose lowest points are triangulated.
const coarse = 2

// middle is the side of the cells in which regions and openings are worked.
func (o Options) middle() float64 { return max(1, o.Cell) }

// windowFor returns the side of the seed windows for a widest raised region:
// the next power of two that holds it, turned any way, with ground beside it.
func (o Options) windowFor(width float64) float64 {
	side := o.MinWindow
	for side < 1.2*width+10 && side < o.MaxWindow {
		side *= 2
	}
	return side
}

func isPowerOfTwo(v float64) bool {
	frac, _ := math.Frexp(v)
	return frac == 0.5
}

// ErrOptions is wrapped by errors about options out of range.
var ErrOptions = errors.New("option out of range")

// Validate returns an error that names every option out of range, or nil.
func (o Options) Validate() error {
	var errs []error
	if o.Cell != 0.25 && o.Cell != 0.5 && o.Cell != 1 && o.Cell != 2 {
		errs = append(errs, fmt.Errorf("cell %g m is none of 0.25, 0.5, 1, 2: %w", o.Cell, ErrOptions))
	}
	if o.MaxWindow < o.MinWindow {
		errs = append(errs, fmt.Errorf("largest window %g m is below the smallest, %g m: %w", o.MaxWindow, o.MinWindow, ErrOptions))
	}
	for _, side := range [2]float64{o.MinWindow, o.MaxWindow} {
		if !isPowerOfTwo(side) {
			errs = append(errs, fmt.Errorf("window %g m is no power of two: %w", side, ErrOptions))
		}
	}
	for _, v := range []struct {
		name        string
		value       float64
		least, most float64
	}{
		{"halo", o.Halo, 0, 1000},
		{"tolerance", o.Tolerance, 0.001, 10},
		{"low drop", o.LowDrop, 0.01, 100},
		{"step height", o.StepHeight, 0.1, 100},
		{"smallest window", o.MinWindow, 4, 1024},
		{"largest window", o.MaxWindow, 4, 1024},
		{"facet slope", o.FacetSlope, 0.001, 10},
		{"facet distance", o.FacetDistance, 0.01, 100},
		{"opening radius", o.OpeningRadius, 1, 200},
		{"opening slope", o.OpeningSlope, 0.001, 10},
		{"reach", o.Reach, 0, 1000},
	} {
		if !(v.value >= v.least && v.value <= v.most) {
			errs = append(errs, fmt.Errorf("%s %g is not within %g to %g: %w", v.name, v.value, v.least, v.most, ErrOptions))
		}
	}
	if err := errors.Join(errs...); err != nil {
		return fmt.Errorf("ground: options: %w", err)
	}
	return nil
}

// bytesPerCell is what Estimate needs for each cell of its window.
const bytesPerCell = 110

// Memory returns about how many bytes Estimate needs for a window, the halo
// included.
func (o Options) Memory(window cloud.Rect) int64 {
	return bytesPerCell * int64((window.MaxX-window.MinX)/o.Cell) * int64((window.MaxY-window.MinY)/o.Cell)
}

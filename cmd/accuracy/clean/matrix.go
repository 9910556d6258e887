package clean

import (
	"context"
	"slices"
	"sync"

	"golang.org/x/sync/errgroup"
)

// Densities, Noises and Beams are those of the matrix.
func Densities() []float64 { return []float64{2, 4, 8, 16, 30, 100, 300, 500} }

// Noises returns the noises of the matrix in centimetres.
func Noises() []float64 { return []float64{0, 1, 2, 3, 5} }

// Beams returns the half-widths of the matrix in centimetres.
func Beams() []float64 { return []float64{0, 3, 10} }

// Full lists all cells of the matrix.
func Full() []Cell {
	var all []Cell
	for _, d := range Densities() {
		for _, n := range Noises() {
			for _, b := range Beams() {
				for _, s := range Samplings() {
					all = append(all, Cell{Density: d, Noise: n, Beam: b, Sampling: s})
				}
			}
		}
	}
	return all
}

// Subset lists a fifth of the matrix: each density, noise and beam meets once,
// under one sampling, and each sampling meets every density, noise and beam
// about as often.
func Subset() []Cell {
	return slices.DeleteFunc(Full(), func(c Cell) bool {
		d, n := slices.Index(Densities(), c.Density), slices.Index(Noises(), c.Noise)
		b, s := slices.Index(Beams(), c.Beam), slices.Index(Samplings(), c.Sampling)
		return (d+2*n+b)%len(Samplings()) != s
	})
}

// Whole is the number of buildings a cell of the full matrix.
const Whole = 200

// Fewer is the number of buildings a cell of the subset: fewer where points
// are many and a building takes long.
func Fewer(c Cell) int {
	switch {
	case c.Density > 300:
		return 40
	case c.Density > 100:
		return 60
	case c.Density > 30:
		return 100
	}
	return 150
}

// plainly reports whether a cell is one on which the baseline is compared.
func (c Cell) plainly() bool {
	return c.Beam == 0 && c.Noise <= 3 && c.Density >= 4 && c.Density <= 100
}

// A Task says what of the matrix is measured and how.
type Task struct {
	Cells []Cell
	// Buildings is the number of buildings of a cell.
	Buildings func(Cell) int
	// Jobs is the number of cells run at once.
	Jobs  int
	Plain Baseline
	// Done is told of each cell when it is done, in no order, by one at a time.
	Done func(Outcome)
}

// Measure runs the cells. Outcomes are in the order of the cells.
func Measure(ctx context.Context, p Task) ([]Outcome, error) {
	all := make([]Outcome, len(p.Cells))
	var telling sync.Mutex
	g, ctx := errgroup.WithContext(ctx)
	g.SetLimit(p.Jobs)
	for i, c := range p.Cells {
		g.Go(func() (err error) {
			if ctx.Err() != nil {
				return ctx.Err()
			}
			way := p.Plain
			if !c.plainly() {
				way = nil
			}
			if all[i], err = c.Run(p.Buildings(c), seed, way); err == nil && p.Done != nil {
				telling.Lock()
				defer telling.Unlock()
				p.Done(all[i])
			}
			return err
		})
	}
	return all, g.Wait()
}

// seed is that of the buildings: the same in all cells, so that cells differ by
// what they are.
const seed = 6

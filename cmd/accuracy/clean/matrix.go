package clean

import (
	"context"
	"slices"

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
	return Whole
}

// plainly reports whether a cell is one on which the baseline is compared.
func (c Cell) plainly() bool {
	return c.Beam == 0 && c.Noise <= 3 && c.Density >= 4 && c.Density <= 100
}

// Measure runs cells, some at once, with the number of buildings that each is
// to have. Outcomes are in the order of the cells.
func Measure(ctx context.Context, cells []Cell, buildings func(Cell) int, jobs int, plain Baseline) ([]Outcome, error) {
	all := make([]Outcome, len(cells))
	g, ctx := errgroup.WithContext(ctx)
	g.SetLimit(jobs)
	for i, c := range cells {
		g.Go(func() (err error) {
			if ctx.Err() != nil {
				return ctx.Err()
			}
			way := plain
			if !c.plainly() {
				way = nil
			}
			all[i], err = c.Run(buildings(c), seed, way)
			return err
		})
	}
	return all, g.Wait()
}

// seed is that of the buildings: the same in all cells, so that cells differ by
// what they are.
const seed = 6

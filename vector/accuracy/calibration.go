package accuracy

import (
	"math"

	"github.com/paulmach/orb"
)

// Quantiles of the chi-squared distribution of two degrees of freedom, which
// is exponential: -2 ln(1-p).
const (
	chi95 = 5.991464547107979
	chi50 = 1.3862943611198906
)

// cornerPool gathers corners for their figures.
type cornerPool struct {
	east, north, radial, inSpacings []float64
	shifted, shiftedInSpacings      []float64
	squares                         []float64 // normalised, shift taken off
	gross, cover, coverRaw          Share
}

func (p *cornerPool) add(b *Block, c Corner) {
	r := math.Hypot(c.Delta[0], c.Delta[1])
	p.east, p.north = append(p.east, c.Delta[0]), append(p.north, c.Delta[1])
	p.radial, p.inSpacings = append(p.radial, r), append(p.inSpacings, r/b.Spacing)
	if q := c.normalised(c.Delta); !math.IsNaN(q) {
		p.coverRaw.add(q <= chi95)
	}
	d := b.withoutShift(c)
	r = math.Hypot(d[0], d[1])
	p.gross.add(b.gross(c))
	if !b.Shifted {
		return
	}
	p.shifted, p.shiftedInSpacings = append(p.shifted, r), append(p.shiftedInSpacings, r/b.Spacing)
	if q := c.normalised(d); !math.IsNaN(q) {
		p.squares = append(p.squares, q)
		p.cover.add(q <= chi95)
	}
}

// withoutShift returns a corner's error less the block's shift.
func (b *Block) withoutShift(c Corner) orb.Point {
	return orb.Point{c.Delta[0] - b.Shift[0], c.Delta[1] - b.Shift[1]}
}

// gross reports whether a corner is farther off than max(2 spacings, 10 cm).
func (b *Block) gross(c Corner) bool {
	d := b.withoutShift(c)
	return math.Hypot(d[0], d[1]) > max(2*b.Spacing, 0.1)
}

// normalised returns dᵀC⁻¹d, the squared error over the corner's stated
// covariance; NaN when none is stated.
func (c Corner) normalised(d orb.Point) float64 {
	a, b, k := c.SigmaE*c.SigmaE, c.SigmaN*c.SigmaN, c.CovEN
	det := a*b - k*k
	if !(det > 0) {
		return math.NaN()
	}
	return (d[0]*d[0]*b - 2*d[0]*d[1]*k + d[1]*d[1]*a) / det
}

// NormalisedSquare returns the squared error over the stated covariance, which
// has a mean of 2 where stated errors are true; NaN when none is stated.
func (c Corner) NormalisedSquare() float64 { return c.normalised(c.Delta) }

func (p *cornerPool) figures() CornerFigures {
	return CornerFigures{
		N: len(p.radial), RMSE: rootMeanSquare(p.radial), Shifted: rootMeanSquare(p.shifted),
		InSpacings: rootMeanSquare(p.inSpacings), ShiftedInSpacings: rootMeanSquare(p.shiftedInSpacings),
		MedianInSpacings: median(p.shiftedInSpacings),
		East:             mean(p.east), North: mean(p.north), Gross: p.gross,
		NEES: mean(p.squares) / 2, Median: median(p.squares) / chi50, Cover: p.cover, CoverRaw: p.coverRaw,
	}
}

package accuracy

import (
	"math"

	"github.com/paulmach/orb"
)

// A Filtering is the cross matrix of ground and object points (Sithole and
// Vosselman, ISPRS Journal 59, 2004, 85-101): ground kept and lost, objects
// taken for ground and told from it.
type Filtering struct {
	Kept    int `json:"ground_kept"`
	Lost    int `json:"ground_lost"`
	Leaked  int `json:"objects_kept"`
	Removed int `json:"objects_removed"`
}

// Count adds one point: what it is, and whether it was taken for ground.
func (f *Filtering) Count(ground, taken bool) {
	switch {
	case ground && taken:
		f.Kept++
	case ground:
		f.Lost++
	case taken:
		f.Leaked++
	default:
		f.Removed++
	}
}

// Plus returns both together.
func (f Filtering) Plus(o Filtering) Filtering {
	return Filtering{f.Kept + o.Kept, f.Lost + o.Lost, f.Leaked + o.Leaked, f.Removed + o.Removed}
}

// N is the number of points.
func (f Filtering) N() int { return f.Kept + f.Lost + f.Leaked + f.Removed }

// TypeI is the share of ground that was lost; NaN without any.
func (f Filtering) TypeI() float64 { return float64(f.Lost) / float64(f.Kept+f.Lost) }

// TypeII is the share of objects taken for ground; NaN without any.
func (f Filtering) TypeII() float64 { return float64(f.Leaked) / float64(f.Leaked+f.Removed) }

// Total is the share of all points that came out wrong.
func (f Filtering) Total() float64 { return float64(f.Lost+f.Leaked) / float64(f.N()) }

// Kappa is the coefficient of agreement of Cohen (Educational and
// Psychological Measurement 20, 1960, 37-46): 1 where all agree, 0 by chance.
func (f Filtering) Kappa() float64 {
	a, b, c, d, n := float64(f.Kept), float64(f.Lost), float64(f.Leaked), float64(f.Removed), float64(f.N())
	chance := ((a+b)*(a+c) + (c+d)*(b+d)) / (n * n)
	return ((a+d)/n - chance) / (1 - chance)
}

// differenceStep and differenceMost are the bins of a Spread, in metres.
const (
	differenceStep = 0.01
	differenceMost = 5.0
)

// A Spread sums differences in metres so that they can be pooled.
type Spread struct {
	N      int     `json:"n"`
	Sum    float64 `json:"sum"`
	Square float64 `json:"sum_of_squares"`
	// Bins counts amounts by hundredths of a metre, the last one all beyond.
	Bins []int `json:"bins"`
}

// Add counts a difference; one that is not a number is left out.
func (s *Spread) Add(d float64) {
	if math.IsNaN(d) {
		return
	}
	s.N++
	s.Sum += d
	s.Square += d * d
	s.bin(int(math.Min(math.Abs(d), differenceMost)/differenceStep), 1)
}

func (s *Spread) bin(i, n int) {
	for len(s.Bins) <= i {
		s.Bins = append(s.Bins, 0)
	}
	s.Bins[i] += n
}

// Pool adds another's differences.
func (s *Spread) Pool(o Spread) {
	s.N, s.Sum, s.Square = s.N+o.N, s.Sum+o.Sum, s.Square+o.Square
	for i, n := range o.Bins {
		s.bin(i, n)
	}
}

// Bias is the mean difference; NaN of none.
func (s *Spread) Bias() float64 { return s.Sum / float64(s.N) }

// RMS is the root mean square; NaN of none.
func (s *Spread) RMS() float64 { return math.Sqrt(s.Square / float64(s.N)) }

// Within returns the amount that a share of the differences does not exceed, to
// a centimetre; NaN of none.
func (s *Spread) Within(share float64) float64 {
	if s.N == 0 {
		return math.NaN()
	}
	left := share * float64(s.N)
	for i, n := range s.Bins {
		if left -= float64(n); left <= 0 {
			return float64(i+1) * differenceStep
		}
	}
	return differenceMost
}

// Narrowest returns the width of the narrowest strip that holds a ring, by the
// directions of its sides, in the unit of its coordinates; 0 of fewer than
// three points.
func Narrowest(ring orb.Ring) float64 {
	least := math.Inf(1)
	for i, a := range ring {
		b := ring[(i+1)%len(ring)]
		dx, dy := b[0]-a[0], b[1]-a[1]
		d := math.Hypot(dx, dy)
		if d == 0 {
			continue
		}
		low, high := math.Inf(1), math.Inf(-1)
		for _, p := range ring {
			v := ((p[0]-a[0])*dy - (p[1]-a[1])*dx) / d
			low, high = math.Min(low, v), math.Max(high, v)
		}
		least = math.Min(least, high-low)
	}
	if math.IsInf(least, 1) {
		return 0
	}
	return least
}

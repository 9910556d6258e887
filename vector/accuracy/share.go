package accuracy

import (
	"fmt"
	"math"
)

// A Share is a count out of a number.
type Share struct {
	Count int `json:"count"`
	N     int `json:"n"`
}

// add counts one more, as a hit or not.
func (s *Share) add(hit bool) {
	s.N++
	if hit {
		s.Count++
	}
}

// With returns the share with one more, a hit or not.
func (s Share) With(hit bool) Share {
	s.add(hit)
	return s
}

// Plus returns both together.
func (s Share) Plus(o Share) Share { return Share{s.Count + o.Count, s.N + o.N} }

// Value returns the share; NaN of none.
func (s Share) Value() float64 { return float64(s.Count) / float64(s.N) }

// Wilson returns the 95 % score interval of the share (Wilson, Journal of the
// American Statistical Association 22, 1927, 209-212); 0 to 1 of none.
func (s Share) Wilson() (low, high float64) {
	if s.N == 0 {
		return 0, 1
	}
	const z = 1.959963984540054 // 97.5 % of the normal distribution
	n, p := float64(s.N), s.Value()
	middle := (p + z*z/(2*n)) / (1 + z*z/n)
	half := z / (1 + z*z/n) * math.Sqrt(p*(1-p)/n+z*z/(4*n*n))
	return max(0, middle-half), min(1, middle+half)
}

// String returns the share in per cent with its interval and number, as
// "98.0 (93.0-99.4, n 100)"; "-" of none.
func (s Share) String() string {
	if s.N == 0 {
		return "-"
	}
	low, high := s.Wilson()
	return fmt.Sprintf("%.1f (%.1f–%.1f, n %d)", 100*s.Value(), 100*low, 100*high, s.N)
}

package imagecheck

import "math"

// A system is a set of normal equations of a few unknowns: N·x = r.
type system struct {
	n    int
	mat  []float64
	rhs  []float64
	work []float64
}

func newSystem(n int) *system {
	return &system{n: n, mat: make([]float64, n*n), rhs: make([]float64, n), work: make([]float64, n*n)}
}

func (s *system) clear() {
	clear(s.mat)
	clear(s.rhs)
}

// add takes in an observation y of weight w with the coefficients a; a negative
// weight takes it out again.
func (s *system) add(a []float64, y, w float64) {
	for i, ai := range a {
		s.rhs[i] += w * ai * y
		for k, ak := range a {
			s.mat[i*s.n+k] += w * ai * ak
		}
	}
}

// addPrior pulls an unknown to zero with a weight.
func (s *system) addPrior(i int, w float64) { s.mat[i*s.n+i] += w }

// factor computes the Cholesky factor; false when the equations are singular.
func (s *system) factor() bool {
	n, l := s.n, s.work
	copy(l, s.mat)
	for i := range n {
		for k := range i + 1 {
			sum := l[i*n+k]
			for j := range k {
				sum -= l[i*n+j] * l[k*n+j]
			}
			if i != k {
				l[i*n+k] = sum / l[k*n+k]
				continue
			}
			if !(sum > 1e-10*s.mat[i*n+i]) || s.mat[i*n+i] == 0 {
				return false
			}
			l[i*n+i] = math.Sqrt(sum)
		}
	}
	return true
}

// back solves N·x = b with the factor.
func (s *system) back(b []float64) []float64 {
	n, l := s.n, s.work
	x := append([]float64(nil), b...)
	for i := range n {
		for j := range i {
			x[i] -= l[i*n+j] * x[j]
		}
		x[i] /= l[i*n+i]
	}
	for i := n - 1; i >= 0; i-- {
		for j := i + 1; j < n; j++ {
			x[i] -= l[j*n+i] * x[j]
		}
		x[i] /= l[i*n+i]
	}
	return x
}

// solve returns the unknowns; nil when the equations are singular.
func (s *system) solve() []float64 {
	if !s.factor() {
		return nil
	}
	return s.back(s.rhs)
}

// inverse returns N⁻¹, row by row; factor must have been called.
func (s *system) inverse() []float64 {
	out := make([]float64, s.n*s.n)
	for i := range s.n {
		unit := make([]float64, s.n)
		unit[i] = 1
		copy(out[i*s.n:], s.back(unit))
	}
	return out
}

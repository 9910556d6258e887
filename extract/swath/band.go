package swath

import "math"

// halfBand is the number of sub-diagonals of the normal matrix of a path:
// second differences tie a knot to the second next, three coordinates each.
const halfBand = 8

// A bandMatrix is a symmetric positive definite matrix with halfBand
// sub-diagonals; entry [i][j] is that of row i and column i−j.
type bandMatrix [][halfBand + 1]float64

// factor replaces the matrix by its lower Cholesky factor and reports whether
// it is positive definite.
func (a bandMatrix) factor() bool {
	for i := range a {
		for j := min(i, halfBand); j >= 0; j-- {
			sum := a[i][j]
			for k := j + 1; k <= min(i, halfBand); k++ {
				sum -= a[i][k] * a[i-j][k-j]
			}
			if j > 0 {
				a[i][j] = sum / a[i-j][0]
				continue
			}
			if !(sum > 0) {
				return false
			}
			a[i][0] = math.Sqrt(sum)
		}
	}
	return true
}

// solve replaces the right-hand side by the solution, given the factor.
func (a bandMatrix) solve(rhs []float64) {
	for i := range a {
		for k := 1; k <= min(i, halfBand); k++ {
			rhs[i] -= a[i][k] * rhs[i-k]
		}
		rhs[i] /= a[i][0]
	}
	for i := len(a) - 1; i >= 0; i-- {
		for k := 1; k <= min(len(a)-1-i, halfBand); k++ {
			rhs[i] -= a[i+k][k] * rhs[i+k]
		}
		rhs[i] /= a[i][0]
	}
}

// inverse returns the entries of the inverse within the band, given the
// factor, by the recursion of Takahashi, Fagan & Chen (1973).
func (a bandMatrix) inverse() bandMatrix {
	z := make(bandMatrix, len(a))
	at := func(i, j int) float64 {
		if i < j {
			i, j = j, i
		}
		return z[i][i-j]
	}
	for i := len(a) - 1; i >= 0; i-- {
		reach := min(len(a)-1-i, halfBand)
		for j := i + reach; j >= i; j-- {
			var sum float64
			for k := i + 1; k <= i+reach; k++ {
				sum += a[k][k-i] * at(k, j)
			}
			v := -sum / a[i][0]
			if j == i {
				v += 1 / (a[i][0] * a[i][0])
			}
			z[j][j-i] = v
		}
	}
	return z
}

// invert returns the inverse of a small symmetric matrix by Gauss–Jordan
// elimination, and false where it is not positive definite.
func invert(m [4][4]float64) (inverse [4][4]float64, ok bool) {
	for i := range m {
		inverse[i][i] = 1
	}
	for i := range m {
		pivot := m[i][i]
		if !(pivot > 0) {
			return inverse, false
		}
		for j := range m {
			m[i][j] /= pivot
			inverse[i][j] /= pivot
		}
		for k := range m {
			if k == i {
				continue
			}
			f := m[k][i]
			for j := range m {
				m[k][j] -= f * m[i][j]
				inverse[k][j] -= f * inverse[i][j]
			}
		}
	}
	return inverse, true
}

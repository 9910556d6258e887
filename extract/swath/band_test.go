package swath

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// dense returns a band matrix written out.
func (a bandMatrix) dense() *mat.SymDense {
	d := mat.NewSymDense(len(a), nil)
	for i := range a {
		for j := 0; j <= min(i, halfBand); j++ {
			d.SetSym(i, i-j, a[i][j])
		}
	}
	return d
}

// Solution and inverse agree with those of gonum's dense Cholesky.
func TestBandMatrixAgainstDense(t *testing.T) {
	r := rand.New(rand.NewPCG(8, 8))
	for _, n := range []int{1, 2, 3, 9, 10, 40} {
		a := make(bandMatrix, n)
		for i := range a {
			for j := range a[i] {
				a[i][j] = r.NormFloat64()
			}
			a[i][0] = 30 + r.Float64()
		}
		var want mat.Cholesky
		if !want.Factorize(a.dense()) {
			t.Fatalf("n=%d: not definite", n)
		}
		rhs := make([]float64, n)
		for i := range rhs {
			rhs[i] = r.NormFloat64()
		}
		var x mat.VecDense
		var inverse mat.SymDense
		if err := want.SolveVecTo(&x, mat.NewVecDense(n, append([]float64(nil), rhs...))); err != nil {
			t.Fatal(err)
		}
		if err := want.InverseTo(&inverse); err != nil {
			t.Fatal(err)
		}
		if !a.factor() {
			t.Fatalf("n=%d: factor says not definite", n)
		}
		a.solve(rhs)
		z := a.inverse()
		for i := range n {
			if math.Abs(rhs[i]-x.AtVec(i)) > 1e-12 {
				t.Errorf("n=%d: x[%d] = %v, want %v", n, i, rhs[i], x.AtVec(i))
			}
			for j := 0; j <= min(i, halfBand); j++ {
				if math.Abs(z[i][j]-inverse.At(i, i-j)) > 1e-12 {
					t.Errorf("n=%d: inverse[%d,%d] = %v, want %v", n, i, i-j, z[i][j], inverse.At(i, i-j))
				}
			}
		}
	}
}

func TestIndefiniteIsRefused(t *testing.T) {
	a := make(bandMatrix, 3)
	a[0][0], a[1][0], a[2][0] = 1, 1, 1
	a[1][1] = 2
	if a.factor() {
		t.Error("1, 2; 2, 1 passes for positive definite")
	}
	if _, ok := invert([4][4]float64{{1, 2}, {2, 1}, {2: 1}, {3: 1}}); ok {
		t.Error("invert takes it for positive definite")
	}
}

func TestInvertGivesTheInverse(t *testing.T) {
	m := [4][4]float64{{4, 1, 0, 2}, {1, 5, 1, 0}, {0, 1, 3, 1}, {2, 0, 1, 6}}
	inverse, ok := invert(m)
	if !ok {
		t.Fatal("not definite")
	}
	for i := range 4 {
		for j := range 4 {
			var sum float64
			for k := range 4 {
				sum += m[i][k] * inverse[k][j]
			}
			if want := map[bool]float64{true: 1}[i == j]; math.Abs(sum-want) > 1e-14 {
				t.Errorf("product[%d,%d] = %v, want %v", i, j, sum, want)
			}
		}
	}
}

package ground

import (
	"math/big"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"
)

// checkTin fails unless neighbours agree, triangles run counter-clockwise,
// fill the rectangle, and no vertex lies in a circle across an edge, by
// arithmetic of any size.
func checkTin(t testing.TB, tr *tin) {
	t.Helper()
	var area int64
	for at := range tr.tri {
		v := tr.tri[at]
		twice := tr.turn(v[0], v[1], tr.x[v[2]], tr.y[v[2]])
		if twice <= 0 {
			t.Fatalf("triangle %d %v runs clockwise or is flat", at, v)
		}
		area += twice
		for k := range 3 {
			other := tr.next[at][k]
			if other < 0 {
				continue
			}
			j := tr.cornerFacing(other, int32(at))
			w := tr.tri[other]
			if w[(j+1)%3] != v[(k+2)%3] || w[(j+2)%3] != v[(k+1)%3] {
				t.Fatalf("triangles %d and %d do not share an edge", at, other)
			}
			if bigInCircle(tr, v, w[j]) > 0 {
				t.Fatalf("vertex %d lies in the circle of triangle %d", w[j], at)
			}
		}
	}
	w, h := int64(tr.x[2]-tr.x[0]), int64(tr.y[2]-tr.y[0])
	if area != 2*w*h {
		t.Fatalf("triangles cover %d of %d", area, 2*w*h)
	}
	if want := 2*len(tr.x) - 2 - 4; len(tr.tri) != want {
		t.Fatalf("%d triangles, Euler's formula gives %d", len(tr.tri), want)
	}
}

func bigInCircle(tr *tin, v [3]int32, d int32) int {
	sum := new(big.Int)
	for k := range 3 {
		a, b, c := v[k], v[(k+1)%3], v[(k+2)%3]
		ax, ay := int64(tr.x[a]-tr.x[d]), int64(tr.y[a]-tr.y[d])
		bx, by := int64(tr.x[b]-tr.x[d]), int64(tr.y[b]-tr.y[d])
		cx, cy := int64(tr.x[c]-tr.x[d]), int64(tr.y[c]-tr.y[d])
		sq := big.NewInt(ax*ax + ay*ay)
		sum.Add(sum, sq.Mul(sq, big.NewInt(bx*cy-cx*by)))
	}
	return sum.Sign()
}

func TestTinIsDelaunay(t *testing.T) {
	const size = 4_560_000 // 456 m in steps of 0.1 mm
	rng := rand.New(rand.NewPCG(1, 2))
	tests := []struct {
		name string
		at   func(i int) (x, y int32)
	}{
		{"random", func(int) (int32, int32) { return rng.Int32N(size), rng.Int32N(size) }},
		// All cocircular: every predicate is undecided in floats.
		{"lattice", func(i int) (int32, int32) { return int32(i%40) * 20000, int32(i/40) * 20000 }},
		{"one row", func(i int) (int32, int32) { return int32(i) * 1000, 5000 }},
		{"near a line", func(i int) (int32, int32) { return int32(i) * 1000, int32(i)*1000 + int32(i%2) }},
		{"repeated", func(i int) (int32, int32) { return int32(i%7) * 1000, int32(i%5) * 1000 }},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			tr := newTin(size, size, 10000, 1600)
			near := int32(0)
			for i := range 1600 {
				x, y := tt.at(i)
				near = tr.insert(x, y, 0, near)
			}
			checkTin(t, tr)
		})
	}
}

func TestTinIsDelaunayForAnyPoints(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		tr := newTin(100, 100, 10, 60)
		for range rapid.IntRange(0, 60).Draw(rt, "n") {
			tr.insert(rapid.Int32Range(0, 100).Draw(rt, "x"), rapid.Int32Range(0, 100).Draw(rt, "y"), 0, 0)
		}
		checkTin(t, tr)
	})
}

func TestTinFacetHoldsItsCorners(t *testing.T) {
	tr := newTin(1000, 1000, 10, 3)
	tr.z = []float64{1, 2, 4, 3}
	tr.insert(300, 600, 7, 0)
	for at := range tr.tri {
		f := tr.plane(int32(at))
		for _, v := range tr.tri[at] {
			if got := f.at(tr.x[v], tr.y[v]); got < tr.z[v]-1e-9 || got > tr.z[v]+1e-9 {
				t.Errorf("facet %d at vertex %d: %v, want %v", at, v, got, tr.z[v])
			}
		}
	}
}

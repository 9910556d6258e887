package roof

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"quoin/extract/cloud"
)

func TestUnionNumbersSetsInOrder(t *testing.T) {
	u := newUnion(6)
	u.join(5, 2)
	u.join(4, 1)
	u.join(5, 3)
	of, n := u.number()
	want := []int32{0, 1, 2, 2, 1, 2}
	for i := range want {
		if of[i] != want[i] || n != 3 {
			t.Fatalf("%v of %d, want %v of 3", of, n, want)
		}
	}
}

func TestSmallestBox(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w, l := rapid.Float64Range(0.1, 20).Draw(t, "w"), rapid.Float64Range(0.1, 20).Draw(t, "l")
		sin, cos := math.Sincos(rapid.Float64Range(0, 7).Draw(t, "turn"))
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		places := [][2]float64{}
		add := func(u, v float64) { places = append(places, [2]float64{3 + u*cos - v*sin, u*sin + v*cos - 7}) }
		for range 20 {
			add(w*r.Float64(), l*r.Float64())
		}
		add(0, 0)
		add(w, 0)
		add(0, l)
		add(w, l)
		b := smallestBox(places)
		if math.Abs(b.width-min(w, l)) > 1e-6 || math.Abs(b.length-max(w, l)) > 1e-6 {
			t.Fatalf("%v, want %v by %v", b, min(w, l), max(w, l))
		}
	})
}

func TestSmallestBoxOfFew(t *testing.T) {
	for _, places := range [][][2]float64{nil, {{1, 1}}, {{1, 1}, {1, 1}}, {{0, 0}, {3, 4}}, {{0, 0}, {1, 1}, {2, 2}}} {
		if b := smallestBox(places); b.width > 1e-9 {
			t.Errorf("%v has width %v, want 0", places, b.width)
		}
	}
}

func TestRobustPlaneLeavesOutliersOut(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		gx, gy := rapid.Float64Range(-1, 1).Draw(t, "gx"), rapid.Float64Range(-1, 1).Draw(t, "gy")
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		h := hood{n: 32}
		for i := range h.n {
			x, y := 1.2*r.Float64()-0.6, 1.2*r.Float64()-0.6
			z := gx*x + gy*y + 0.01*r.NormFloat64()
			if i%8 == 0 {
				z -= 0.8 * r.Float64() // an eighth of the returns is from a wall
			}
			h.x[i], h.y[i], h.z[i] = x, y, z
		}
		f, ok := h.robust(tuning{0.6, 0.08, 0.1, 0})
		if !ok || math.Abs(f.gx-gx) > 0.05 || math.Abs(f.gy-gy) > 0.05 || math.Abs(f.z0) > 0.03 || f.inliers < 27 {
			t.Fatalf("got %+v, want gradient %.3f, %.3f", f, gx, gy)
		}
	})
}

func TestPlaneThroughALineStaysLevelAcrossIt(t *testing.T) {
	h := hood{n: 20}
	for i := range h.n {
		h.x[i], h.y[i], h.z[i] = float64(i)*0.05, 0.001*float64(i%2), 0.02*float64(i%3)
	}
	f, ok := h.robust(tuning{0.6, 0.08, 0.1, 0})
	if !ok || !f.line || math.Abs(f.gy) > 0.05 {
		t.Errorf("got %+v, %v; want a line without a gradient across", f, ok)
	}
}

func TestCellsAreAnchored(t *testing.T) {
	for _, c := range []struct{ spacing, want float64 }{{0.05, 0.5}, {0.357, 0.5}, {0.36, 1}, {0.71, 1}, {0.72, 2}, {1.4, 2}} {
		got := CellSize(cloud.Measures{Spacing: c.spacing})
		if got != c.want || math.Mod(cloud.OriginStep, got) != 0 {
			t.Errorf("spacing %v gives cells of %v, want %v", c.spacing, got, c.want)
		}
	}
}

func TestOptionsAreChecked(t *testing.T) {
	if err := DefaultOptions().Validate(); err != nil {
		t.Errorf("the defaults are refused: %v", err)
	}
	err := Options{MinHeight: -1, MinArea: math.NaN(), MinPart: 1e9}.Validate()
	for _, part := range []string{"height", "area of a building", "area of a part"} {
		if err == nil || !strings.Contains(err.Error(), part) {
			t.Errorf("%v does not name the %s", err, part)
		}
	}
}

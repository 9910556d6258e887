package clean

import (
	"context"
	"math"
	"math/rand/v2"
	"reflect"
	"testing"

	"github.com/paulmach/orb"

	"quoin/extract/outline"
)

func TestSubsetIsBalanced(t *testing.T) {
	if n := len(Full()); n != 600 {
		t.Errorf("the matrix has %d cells, not 600", n)
	}
	subset := Subset()
	if len(subset) != 120 {
		t.Fatalf("the subset has %d cells, not 120", len(subset))
	}
	type two struct {
		kind string
		a, b any
	}
	counts := make(map[two]int)
	for _, c := range subset {
		counts[two{"dn", c.Density, c.Noise}]++
		counts[two{"sn", c.Sampling, c.Noise}]++
		counts[two{"sd", c.Sampling, c.Density}]++
	}
	for _, s := range Samplings() {
		for _, n := range Noises() {
			if k := counts[two{"sn", s, n}]; k < 3 || k > 6 {
				t.Errorf("%s meets noise %g cm %d times", s, n, k)
			}
		}
		for _, d := range Densities() {
			if k := counts[two{"sd", s, d}]; k != 3 {
				t.Errorf("%s meets %g/m² %d times, not 3", s, d, k)
			}
		}
	}
	for _, d := range Densities() {
		for _, n := range Noises() {
			if k := counts[two{"dn", d, n}]; k != len(Beams()) {
				t.Errorf("%g/m² meets noise %g cm %d times", d, n, k)
			}
		}
	}
}

func TestPatternsHaveTheirDensity(t *testing.T) {
	for _, s := range Samplings() {
		c := Cell{Density: 20, Sampling: s}
		rng := rand.New(rand.NewPCG(1, 1))
		p := newPlan(0, rng)
		box := p.bounds().Pad(10)
		n := 0.0
		const trials = 40
		for range trials {
			n += float64(len(c.places(p, box, rng))) / trials
		}
		area := (box.Max[0] - box.Min[0]) * (box.Max[1] - box.Min[1])
		if got := n / area; math.Abs(got-20) > 0.5 {
			t.Errorf("%s has %.2f/m², not 20", s, got)
		}
	}
}

// What the scorer is told of an edge: lines along it leave gaps of their
// distance, a shadow hides two of a rectangle's edges' outsides or one.
func TestViewsTellThePattern(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 3))
	p := newPlan(0, rng)
	views := Cell{Density: 30, Sampling: Along}.fly(p, rng).views
	apart := math.Sqrt(lineRatio / 30)
	if v := views[0].Variance(10); math.Abs(math.Sqrt(v)-apart/math.Sqrt(12)) > 0.01*apart {
		t.Errorf("the edge along the lines has a standard error of %.4f m, not %.4f", math.Sqrt(v), apart/math.Sqrt(12))
	}
	if v := views[1].Variance(10); math.Sqrt(v) > apart/10 {
		t.Errorf("the edge across the lines has a standard error of %.4f m", math.Sqrt(v))
	}
	hidden := 0.0
	for _, v := range (Cell{Density: 30, Sampling: Shadow}).fly(p, rng).views {
		hidden += v.Hidden
	}
	if hidden != 1 {
		t.Errorf("the shadow hides %g of a rectangle's edges, not one", hidden)
	}
}

func TestLabelsAreThoseOfTheTruePlace(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 4))
	p := newPlan(1, rng)
	for _, o := range (Cell{Density: 30, Beam: 10, Sampling: Poisson}).fly(p, rng).observations {
		want := outline.Inside
		switch d := p.depth(o.X, o.Y); {
		case d < -0.1:
			want = outline.Outside
		case d < 0.1:
			want = outline.Split
		}
		if o.Side != want { // without noise the reported place is the true one
			t.Fatalf("a pulse %.3f m inside has side %d", p.depth(o.X, o.Y), o.Side)
		}
	}
}

// The ratio of sums and its limit, by hand: squared errors 1, 2, 3 against
// bounds of 2 each: the ratio of squares is 1, residuals -1, 0, 1, their
// variance of the sum 3·(2/2) = 3, the standard error √3/6.
func TestRatioByHand(t *testing.T) {
	var a Tally
	for _, e := range []float64{1, 2, 3} {
		a.add(e, 2, 1, 1)
	}
	ratio, lower := a.Ratio()
	if math.Abs(ratio-1) > 1e-12 || math.Abs(lower-math.Sqrt(1-2.326*math.Sqrt(3)/6)) > 1e-12 {
		t.Errorf("ratio %v, limit %v", ratio, lower)
	}
	metres, spacings := a.RMSE()
	if metres != math.Sqrt2 || spacings != math.Sqrt2 {
		t.Errorf("RMSE %v, %v", metres, spacings)
	}
}

// A cell comes out the same however many run at once, and near its bound.
func TestMeasureIsTheSameForAnyNumberOfJobs(t *testing.T) {
	cells := []Cell{
		{Density: 8, Noise: 2, Sampling: Poisson},
		{Density: 16, Noise: 1, Beam: 3, Sampling: Swaths},
	}
	boxes := func(_ []orb.Point, truth orb.Polygon, _ float64) ([]orb.Polygon, error) {
		return []orb.Polygon{truth}, nil
	}
	twelve := func(Cell) int { return 12 }
	a, err := Measure(context.Background(), Task{Cells: cells, Buildings: twelve, Jobs: 1, Plain: boxes})
	if err != nil {
		t.Fatal(err)
	}
	b, err := Measure(context.Background(), Task{Cells: cells, Buildings: twelve, Jobs: 2, Plain: boxes})
	if err != nil {
		t.Fatal(err)
	}
	if !reflect.DeepEqual(a, b) {
		t.Error("outcomes depend on the number of jobs")
	}
	for _, o := range a {
		if r, _ := o.Fit.Ratio(); !(r > 0.5 && r < 1.6) || o.Exact.Count < 11 {
			t.Errorf("%v: RMSE is %.2f of the bound, exact %v", o.Cell, r, o.Exact)
		}
	}
	if a[0].Plain == nil || a[0].Plain[0].Errors != 0 || a[1].Plain != nil {
		t.Error("the baseline was not told apart: a perfect one has no error, and with a beam there is none")
	}
}

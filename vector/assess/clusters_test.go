package assess

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"

	"quoin/vector"
)

// alike draws differences of a number of buildings with four corners each, of
// unit variance, of which a share is common to a building.
func alike(r *rand.Rand, buildings int, share float64) []residual {
	var list []residual
	for b := range buildings {
		common := [2]float64{r.NormFloat64(), r.NormFloat64()}
		for range 4 {
			d := [2]float64{}
			for axis := range d {
				d[axis] = math.Sqrt(share)*common[axis] + math.Sqrt(1-share)*r.NormFloat64()
			}
			list = append(list, residual{building: fmt.Sprint(b), d: d})
		}
	}
	return list
}

// With half of the variance common to a building, the correlation comes out as
// a half, four corners are worth 4/(1 + 3/2) = 1.6, and the t test of a mean
// with buildings as units has its 5 % of false alarms, whereas the one that
// takes corners as independent has many more.
func TestClusters(t *testing.T) {
	const runs, buildings, share = 2000, 20, 0.5
	r := rand.New(rand.NewPCG(7, 7))
	var rho, effective, alarms, naive float64
	for range runs {
		c := clusters(alike(r, buildings, share))
		rho += float64(c.Correlation) / runs
		effective += float64(c.Effective) / runs
		if c.PE < 0.05 {
			alarms++
		}
		if s := 1.0 / math.Sqrt(4*buildings); math.Abs(float64(c.SigmaMeanE)) > 0 && s > 0 {
			naive += s / float64(c.SigmaMeanE) / runs
		}
	}
	if math.Abs(rho-share) > 0.02 {
		t.Errorf("correlation %.3f, want %.1f", rho, share)
	}
	// The mean of a ratio is somewhat above the ratio of means.
	if want := 1.6 * buildings; effective < want-1 || effective > want+4 {
		t.Errorf("worth %.1f points, want about %.0f", effective, want)
	}
	if slack := 4 * math.Sqrt(0.05*0.95*runs); math.Abs(alarms-0.05*runs) > slack+0.01*runs {
		t.Errorf("%v false alarms in %d, want 5 %%", alarms, runs)
	}
	if naive > 0.75 {
		t.Errorf("standard errors of independent points are %.2f of those of buildings, want about 0.63", naive)
	}
}

func TestClustersOfFewBuildings(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	if c := clusters(alike(r, 2, 0)); !math.IsNaN(float64(c.SigmaRMSE)) || c.Buildings != 2 || c.Points != 8 {
		t.Errorf("%+v", c)
	}
	if c := clusters(nil); c.Points != 0 || !math.IsNaN(float64(c.Effective)) {
		t.Errorf("%+v", c)
	}
}

// An adjustment takes walls, sides and fit along with the roof.
func TestAdjustmentMovesSides(t *testing.T) {
	f := vector.Footprint{
		ID: "b", Polygon: orb.Polygon{{{0, 0}, {10, 0}, {10, 6}, {0, 0}}}, Walls: orb.Polygon{{{1, 1}, {9, 1}, {9, 4}, {1, 1}}},
		Sides:      []vector.Side{{From: orb.Point{0, 0}, To: orb.Point{10, 0}, Overhang: 0.5}},
		Adjustment: &vector.Adjustment{Origin: orb.Point{5, 3}, Directions: []float64{0.1}, Offsets: []float64{3}},
	}
	from := []orb.Point{{0, 0}, {10, 0}, {0, 10}}
	var to []orb.Point
	for _, p := range from { // a quarter turn, twice the size, and a shift
		to = append(to, orb.Point{100 - 2*p[1], 200 + 2*p[0]})
	}
	fit, err := FitSimilarity(from, to)
	if err != nil {
		t.Fatal(err)
	}
	a := &Adjustment{Method: WholeSimilarity, fit: fit}
	before := vector.Delivery{Footprints: []vector.Footprint{f}}
	g := a.Delivery(before).Footprints[0]
	near := func(p, q orb.Point) bool { return math.Hypot(p[0]-q[0], p[1]-q[1]) < 1e-9 }
	if !near(g.Sides[0].To, orb.Point{100, 220}) || !near(g.Walls[0][1], orb.Point{98, 218}) || !near(g.Adjustment.Origin, orb.Point{94, 210}) {
		t.Errorf("%+v %+v %+v", g.Sides[0], g.Walls, g.Adjustment)
	}
	if math.Abs(g.Sides[0].Overhang-1) > 1e-9 || math.Abs(g.Adjustment.Directions[0]-0.1-math.Pi/2) > 1e-9 || math.Abs(g.Adjustment.Offsets[0]-6) > 1e-9 {
		t.Errorf("%+v %+v", g.Sides[0], g.Adjustment)
	}
	if f.Sides[0].To != (orb.Point{10, 0}) || f.Adjustment.Directions[0] != 0.1 || f.Adjustment.Offsets[0] != 3 {
		t.Error("the delivery given is changed")
	}
}

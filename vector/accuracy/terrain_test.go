package accuracy_test

import (
	"math"
	"testing"

	"github.com/paulmach/orb"

	"quoin/vector/accuracy"
)

// Sample 11 and sample 53 of the ISPRS filter test: counts of ground and
// objects and the Type I and II of Zhang et al. 2016, Remote Sensing 8:501,
// Table 3, give the total error and the kappa that are printed there.
func TestFilteringReproducesPublished(t *testing.T) {
	for _, s := range []struct{ ground, object, typeI, typeII, total, kappa float64 }{
		{21786, 16224, 7.23, 18.44, 12.01, 75.17},
		{32989, 1389, 3.85, 37.08, 5.20, 46.86},
	} {
		lost, leaked := math.Round(s.ground*s.typeI/100), math.Round(s.object*s.typeII/100)
		f := accuracy.Filtering{Kept: int(s.ground - lost), Lost: int(lost), Leaked: int(leaked), Removed: int(s.object - leaked)}
		if d := math.Abs(100*f.Total() - s.total); d > 0.04 {
			t.Errorf("total %.2f %%, published %.2f", 100*f.Total(), s.total)
		}
		if d := math.Abs(100*f.Kappa() - s.kappa); d > 0.04 {
			t.Errorf("kappa %.2f %%, published %.2f", 100*f.Kappa(), s.kappa)
		}
		if d := math.Abs(100*f.TypeI() - s.typeI); d > 0.01 {
			t.Errorf("type I %.2f %%, published %.2f", 100*f.TypeI(), s.typeI)
		}
	}
}

func TestFilteringCounts(t *testing.T) {
	var f accuracy.Filtering
	f.Count(true, true)
	f.Count(true, false)
	f.Count(false, true)
	f.Count(false, false)
	f.Count(false, false)
	want := accuracy.Filtering{Kept: 1, Lost: 1, Leaked: 1, Removed: 2}
	if f != want || f.Plus(f) != (accuracy.Filtering{Kept: 2, Lost: 2, Leaked: 2, Removed: 4}) {
		t.Errorf("%+v", f)
	}
}

// 1, 2, ..., 100 cm by turns up and down: mean -0.5 cm, 95 % within 95 cm.
func TestSpread(t *testing.T) {
	var a, b accuracy.Spread
	for i := 1; i <= 100; i++ {
		d := float64(i) / 100
		if i%2 == 1 {
			a.Add(d - 0.001)
		} else {
			b.Add(-d + 0.001)
		}
	}
	a.Add(math.NaN())
	a.Pool(b)
	if a.N != 100 || math.Abs(a.Bias()+0.005) > 1e-9 || math.Abs(a.Within(0.95)-0.95) > 1e-9 {
		t.Errorf("n %d, bias %v, 95 %% within %v", a.N, a.Bias(), a.Within(0.95))
	}
	if r := a.RMS(); math.Abs(r-0.58) > 0.01 { // sqrt(101·201/6)/100 = 0.5817
		t.Errorf("rms %v", r)
	}
	a.Add(99)
	if a.Within(1) < 5 {
		t.Error("what is far off is lost")
	}
	var none accuracy.Spread
	if !math.IsNaN(none.Bias()) || !math.IsNaN(none.Within(0.5)) {
		t.Error("figures of nothing")
	}
}

func TestNarrowest(t *testing.T) {
	for _, c := range []struct {
		ring orb.Ring
		want float64
	}{
		{orb.Ring{{0, 0}, {30, 0}, {30, 12}, {0, 12}, {0, 0}}, 12},
		{orb.Ring{{0, 0}, {4, 3}, {1, 7}, {-3, 4}}, 5}, // a square, turned
		{orb.Ring{{0, 0}, {10, 0}, {10, 4}, {6, 4}, {6, 9}, {0, 9}}, 9},
		{nil, 0},
	} {
		if got := accuracy.Narrowest(c.ring); math.Abs(got-c.want) > 1e-9 {
			t.Errorf("%v is %v wide, want %v", c.ring, got, c.want)
		}
	}
}

package assess

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"

	"quoin/vector"
)

// trials and the bound on a rate: with the rate p as stated, the count of
// alarms in n trials lies within 4 standard deviations of n·p but once in
// 16 000 seeds, √(n·p·(1 − p)) being one.
const trials = 4000

func rateHolds(t *testing.T, what string, count int, n, p float64) {
	t.Helper()
	if bound := 4 * math.Sqrt(n*p*(1-p)); math.Abs(float64(count)-n*p) > bound {
		t.Errorf("%s: %d of %g, want %.1f ± %.1f", what, count, n, n*p, bound)
	}
}

// simulated returns checks whose errors follow what they state: corners with
// correlated errors, a survey, a floor, and a shift of the whole block.
// factor multiplies the errors of the corners.
func simulated(dice *rand.Rand, n int, factor float64, shift [2]float64) ([]vector.CornerCheck, []vector.Corner) {
	var checks []vector.CornerCheck
	var corners []vector.Corner
	for i := range n {
		sigmaE, sigmaN, rho := 0.01+0.03*dice.Float64(), 0.01+0.03*dice.Float64(), 1.6*dice.Float64()-0.8
		survey := 0.005 + 0.01*dice.Float64()
		a, b := dice.NormFloat64(), dice.NormFloat64()
		e := factor*sigmaE*a + math.Hypot(survey, 0.02)*dice.NormFloat64() + shift[0]
		north := factor*sigmaN*(rho*a+math.Sqrt(1-rho*rho)*b) + math.Hypot(survey, 0.02)*dice.NormFloat64() + shift[1]
		corners = append(corners, vector.Corner{Vertex: i, SigmaE: sigmaE, SigmaN: sigmaN, CovEN: rho * sigmaE * sigmaN})
		checks = append(checks, vector.CornerCheck{
			ControlID: string(rune('a' + i)), Vertex: i, Surveyed: orb.Point{1000 * dice.Float64(), 1000 * dice.Float64()}, SurveyedU: math.NaN(),
			SurveySigma: [3]float64{survey, survey, 0}, DeltaE: e, DeltaN: north, DeltaU: math.NaN(), Used: true,
		})
	}
	return checks, corners
}

func TestVerdictHasItsFalseAlarmRate(t *testing.T) {
	dice := rand.New(rand.NewPCG(1, 1))
	for _, n := range []int{4, 12, 40} {
		alarms := 0
		for range trials {
			checks, corners := simulated(dice, n, 1, [2]float64{0.3, -0.2})
			if consistency(residuals(checks, corners, 0.02)).Verdict != Consistent {
				alarms++
			}
		}
		rateHolds(t, "verdicts", alarms, trials, verdictLevel)
	}
}

// TestVerdictFindsWrongUncertainties: errors three times as large as stated,
// and a third as large with nothing else, are found in nearly all surveys of
// twenty points.
func TestVerdictFindsWrongUncertainties(t *testing.T) {
	dice := rand.New(rand.NewPCG(2, 1))
	found := 0
	const n = 200
	for range n {
		checks, corners := simulated(dice, 20, 3, [2]float64{})
		if c := consistency(residuals(checks, corners, 0.02)); c.Verdict == TooSmall && c.Factor > 1 {
			found++
		}
	}
	if found < n*95/100 {
		t.Errorf("too small in %d of %d", found, n)
	}
	checks, corners := simulated(dice, 40, 1, [2]float64{})
	for i := range checks {
		checks[i].DeltaE, checks[i].DeltaN = checks[i].DeltaE/3, checks[i].DeltaN/3
	}
	if c := consistency(residuals(checks, corners, 0.02)); c.Verdict != TooLarge {
		t.Errorf("got %+v", c)
	}
	if c := consistency(residuals(checks[:3], corners, 0.02)); c.Verdict != Undecided {
		t.Errorf("three points give %+v", c)
	}
}

func TestWTestHasItsLevelAndPower(t *testing.T) {
	dice := rand.New(rand.NewPCG(3, 1))
	const n = 10
	failed, found := 0, 0
	for range trials {
		checks, corners := simulated(dice, n, 1, [2]float64{0.1, 0.1})
		failed += len(wTest(residuals(checks, corners, 0.02)).Failed)
		// A blunder of the size that is detectable at this very point.
		list := residuals(checks, corners, 0.02)
		weight := 0.0
		for _, r := range list {
			weight += 1 / r.variance(0)
		}
		v := list[0].variance(0)
		list[0].d[0] += 4.132 * v / math.Sqrt(v-1/weight)
		for _, f := range wTest(list).Failed {
			if f.ControlID == "a" && f.Axis == "east" {
				found++
			}
		}
	}
	rateHolds(t, "false alarms of the w-test", failed, trials*2*n, snoopLevel)
	rateHolds(t, "blunders found by the w-test", found, trials, power)
}

// TestTauTestHasItsLevel: the level is shared out by Bonferroni, which for so
// small a level is exact to about a tenth of it.
func TestTauTestHasItsLevel(t *testing.T) {
	dice := rand.New(rand.NewPCG(4, 1))
	alarms := 0
	for range trials {
		list := make([]residual, 8)
		for i := range list {
			list[i].d = [2]float64{7 + dice.NormFloat64(), dice.NormFloat64()}
		}
		east := false
		for _, f := range tauTest(list).Failed {
			east = east || f.Axis == "east"
		}
		if east {
			alarms++
		}
	}
	rateHolds(t, "surveys that fail the tau-test", alarms, trials, tauLevel)
}

// TestTauAgainstGrubbs compares with the critical values of Grubbs for the
// largest of n deviations, two-sided at 5 % (Grubbs & Beck 1972, Technometrics
// 14:847–854, table 1 at 2.5 %, from memory): τ is Grubbs' value times
// √(n/(n − 1)), and ours shares the level out by Bonferroni, which agrees to
// two decimals.
func TestTauAgainstGrubbs(t *testing.T) {
	for n, grubbs := range map[int]float64{5: 1.715, 10: 2.290, 20: 2.709, 30: 2.908} {
		want := grubbs * math.Sqrt(float64(n)/float64(n-1))
		if got := tauCritical(n); math.Abs(got-want) > 0.006 {
			t.Errorf("n = %d: %.4f, want %.4f", n, got, want)
		}
	}
}

func TestNetworkIsUnbiased(t *testing.T) {
	dice := rand.New(rand.NewPCG(5, 1))
	const georeferencing = 0.08
	var sum float64
	for range trials {
		shift := [2]float64{georeferencing * dice.NormFloat64(), georeferencing * dice.NormFloat64()}
		checks, corners := simulated(dice, 12, 1, shift)
		n := network(residuals(checks, corners, 0.02), 0.02)
		sum += float64(n.GeoreferencingE*n.GeoreferencingE) / trials
	}
	// The variance of a squared normal shift is 2 g⁴; cutting at zero adds a
	// little, bounded by the share of surveys that are cut times the standard
	// error of the mean square, (0.035²) √(2/12).
	bound := 4*georeferencing*georeferencing*math.Sqrt(2.0/trials) + 0.1*0.035*0.035
	if want := georeferencing * georeferencing; math.Abs(sum-want) > bound {
		t.Errorf("mean variance %v, want %v ± %v", sum, want, bound)
	}
}

func TestTrendHasItsFalseAlarmRate(t *testing.T) {
	dice := rand.New(rand.NewPCG(6, 1))
	alarms := 0
	for range trials {
		list := make([]residual, 9)
		for i := range list {
			list[i] = residual{at: orb.Point{1000 * dice.Float64(), 1000 * dice.Float64()}, d: [2]float64{1 + 0.03*dice.NormFloat64(), 0.03 * dice.NormFloat64()}}
		}
		if trend(list).P < significant {
			alarms++
		}
	}
	rateHolds(t, "trends", alarms, trials, significant)
}

// TestCircleHoldsNinetyFive: the circle of the ellipse holds 95 % of the
// differences when all errors are as stated.
func TestCircleHoldsNinetyFive(t *testing.T) {
	dice := rand.New(rand.NewPCG(7, 1))
	inside := 0
	for range 400 {
		checks, corners := simulated(dice, 25, 1, [2]float64{})
		for _, e := range ellipses(residuals(checks, corners, 0.02), Network{}) {
			if e.Inside {
				inside++
			}
		}
	}
	rateHolds(t, "differences inside their circle", inside, 400*25, 0.95)
}

package control_test

import (
	"math/rand/v2"
	"strings"
	"testing"

	"quoin/vector"
	"quoin/vector/control"
)

func TestSummaryNamesEveryPointThatIsNotUsed(t *testing.T) {
	checks := normalChecks(rand.New(rand.NewPCG(3, 4)), 24, 0.03)
	checks[7].ControlID, checks[7].DeltaN = "GPS-7", 3
	checks = append(checks, vector.CornerCheck{ControlID: "far", DeltaE: nan, DeltaN: nan, DeltaU: nan, Reason: "outside"})
	control.FlagBlundersInPlace(checks)
	got := control.Stats(checks).Summary(vector.CRS{Horizontal: vector.Foot, Vertical: vector.USSurveyFoot})
	for _, want := range []string{
		"25 surveyed points, 24 matched to a corner, 23 used (on 1 building)",
		"Blunders, left out of the second figures: 1\n  GPS-7: blunder in plan: ", "Not matched: 1\n  far: outside\n",
		"95 % H  ft\n", "95 % U  usft\n", "all matched          24", "without blunders     23", "RMSE U (NSSDA)",
	} {
		if !strings.Contains(got, want) {
			t.Errorf("does not say %q:\n%s", want, got)
		}
	}
	if strings.Contains(got, "asks for 20") {
		t.Errorf("23 points are enough:\n%s", got)
	}
}

func TestSummaryOfNothing(t *testing.T) {
	const want = "Control: 0 surveyed points, 0 matched to a corner, 0 used (on 0 buildings)\n"
	if got := control.Stats(nil).Summary(vector.CRS{}); got != want {
		t.Errorf("got %q", got)
	}
}

func TestSummaryNamesTheRule(t *testing.T) {
	for want, n := range map[string]float64{"(NSSDA, equal axes)": 1, "unequal axes, ratio 0.80": 0.8, "ratio 0.10, below 0.6": 0.1} {
		checks := []vector.CornerCheck{{DeltaE: 1, DeltaN: n, DeltaU: nan, Used: true}, {DeltaE: -1, DeltaN: -n, DeltaU: nan, Used: true}}
		if got := control.Stats(checks).Summary(vector.CRS{}); !strings.Contains(got, want) {
			t.Errorf("does not say %q:\n%s", want, got)
		}
	}
}

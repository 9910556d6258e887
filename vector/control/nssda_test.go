package control_test

import (
	"math"
	"testing"

	"github.com/paulmach/orb"

	"quoin/vector"
	"quoin/vector/control"
)

// crider is the worked example of the NSSDA (FGDC-STD-007.3-1998, appendix
// 3-B): the Crider, Kentucky quadrangle, State Plane Kentucky South, feet. The
// rows are from memory and have not been compared with the document; they agree
// with the totals printed there (sum of squares 10 066, mean 402.64, RMSE
// 20.07 ft, accuracy 35 ft), which a wrong digit in a difference would break.
// Columns: x data, x check, y data, y check.
var crider = [25][4]float64{
	{1373883, 1373894, 298298, 298297},
	{1370503, 1370486, 303727, 303747},
	{1361523, 1361537, 302705, 302705},
	{1357653, 1357667, 298726, 298746},
	{1348121, 1348128, 299725, 299755},
	{1345601, 1345625, 309911, 309910},
	{1350505, 1350507, 318478, 318477},
	{1351781, 1351792, 307697, 307698},
	{1352361, 1352379, 311109, 311099},
	{1360657, 1360645, 316720, 316761},
	{1368215, 1368202, 309842, 309869},
	{1370299, 1370282, 316832, 316849},
	{1373855, 1373839, 319893, 319886},
	{1379981, 1379962, 311641, 311633},
	{1378625, 1378628, 334995, 335010},
	{1374735, 1374742, 333909, 333922},
	{1370581, 1370576, 324098, 324095},
	{1359379, 1359387, 328690, 328691},
	{1346459, 1346479, 330816, 330812},
	{1347101, 1347109, 335869, 335850},
	{1350733, 1350748, 332715, 332725},
	{1354395, 1354411, 335337, 335345},
	{1358563, 1358570, 335398, 335406},
	{1365561, 1365574, 333873, 333877},
	{1373645, 1373643, 339613, 339609},
}

func criderResult() control.Result {
	var corners []vector.Corner
	var points []control.Point
	for i, row := range crider {
		id := string(rune('A' + i))
		corners = append(corners, vector.Corner{BuildingID: id, Point: orb.Point{row[0], row[2]}, Elevation: math.NaN()})
		points = append(points, control.Point{ID: id, East: row[1], North: row[3], Elevation: math.NaN()})
	}
	return control.Stats(control.Match(corners, points, 100))
}

func TestNSSDAWorkedExample(t *testing.T) {
	r := criderResult()
	if r.Matched != 25 || len(r.Blunders) != 0 || r.Used != 25 {
		t.Fatalf("matched %d, used %d, blunders %v", r.Matched, r.Used, r.Blunders)
	}
	for _, c := range []struct {
		name      string
		got, want float64
		places    int
	}{
		// Printed in the standard.
		{"RMSE_r", float64(r.All.RMSEH), 20.07, 2},
		{"accuracy, equal axes", float64(r.All.EqualAxes95), 35, 0},
		{"RMSE_x", float64(r.All.East.RMSE), 13.28, 2},
		{"RMSE_y", float64(r.All.North.RMSE), 15.04, 2},
		{"ratio", float64(r.All.Ratio), 0.88, 2},
		{"accuracy, unequal axes", float64(r.All.UnequalAxes95), 35, 0},
		// Recomputed apart from this program.
		{"accuracy, equal axes, to 0.01", float64(r.All.EqualAxes95), 34.73, 2},
		{"accuracy, unequal axes, to 0.01", float64(r.All.UnequalAxes95), 34.66, 2},
		{"reported", float64(r.All.Horizontal95), 34.66, 2},
	} {
		scale := math.Pow(10, float64(c.places))
		if math.Round(c.got*scale)/scale != c.want {
			t.Errorf("%s: got %v, want %v", c.name, c.got, c.want)
		}
	}
	if r.All.Rule != control.UnequalAxes {
		t.Errorf("rule %q", r.All.Rule)
	}
}

func TestAccuracyRules(t *testing.T) {
	for _, c := range []struct {
		name         string
		rmseE, rmseN float64
		want         float64
		rule         control.Rule
	}{
		{"equal", 1, 1, 1.7308 * math.Sqrt2, control.EqualAxes},
		{"none", 0, 0, 0, control.EqualAxes},
		{"ratio 0.8", 1, 0.8, 2.4477 * 0.9, control.UnequalAxes},
		{"ratio 0.8, other axis", 0.8, 1, 2.4477 * 0.9, control.UnequalAxes},
		{"ratio 0.6", 10, 6, 2.4477 * 8, control.UnequalAxes},
		// K at C = 0.5 of the polynomial: 1.960790 + 0.0020355 + 0.028569 + 0.046453125.
		{"ratio 0.5", 2, 1, 2 * 2.037847625, control.Circle},
		{"one axis only", 0, 1, 1.960790, control.Circle},
		{"unknown", math.NaN(), 1, math.NaN(), control.NoRule},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := control.Accuracy95(c.rmseE, c.rmseN)
			same := math.Abs(got.Radius-c.want) < 1e-9 || math.IsNaN(got.Radius) && math.IsNaN(c.want)
			if !same || got.Rule != c.rule {
				t.Errorf("got %v, want %v %q", got, c.want, c.rule)
			}
		})
	}
}

// The unequal-axes formula against the equal-axes one at the ratios tabled
// beside it: the quotient falls from 1 to 0.970 (recomputed).
func TestUnequalAxesAgainstEqualAxes(t *testing.T) {
	for ratio, want := range map[float64]float64{0.9: 0.99861, 0.8: 0.99388, 0.7: 0.98478, 0.6: 0.97013} {
		got := control.Accuracy95(1, ratio).Radius / (1.7308 * math.Hypot(1, ratio))
		if math.Abs(got-want) > 2e-5 {
			t.Errorf("ratio %v: got %v, want %v", ratio, got, want)
		}
	}
}

// Published rows of NGS data sheets (ngs.noaa.gov, local and network
// accuracies of PID GV0652 and GW1129, retrieved February 2025): standard
// errors north and east and their correlation, and the horizontal 95 % figure,
// all in centimetres.
func TestNGSDataSheets(t *testing.T) {
	for _, c := range []struct {
		name                 string
		north, east, correl  float64
		horizontal95Centimet float64
	}{
		{"GV0652 network", 1.09, 1.16, -0.29902673, 2.79},
		{"GV0652 to GV6114", 0.80, 0.89, -0.10127264, 2.07},
		{"GV0652 to GV6157", 0.93, 0.64, 0.12238238, 1.99},
		{"GV0652 to GV6064", 0.48, 0.46, 0.00521369, 1.15},
		{"GV0652 to GV6102", 1.07, 0.84, 0.04196526, 2.37},
		{"GW1129 network", 0.76, 0.59, 0.34469534, 1.71},
		{"GW1129 to GW2602", 0.42, 0.38, 0.74478411, 1.06},
		{"GW1129 to GW2702", 0.78, 0.67, 0.57468556, 1.87},
		{"GW1129 to GW2653", 0.82, 0.78, 0.34271073, 1.99},
		{"GW1129 to GW2655", 0.82, 0.74, 0.39436144, 1.96},
	} {
		t.Run(c.name, func(t *testing.T) {
			corner := vector.Corner{SigmaE: c.east, SigmaN: c.north, CovEN: c.correl * c.east * c.north}
			a, b, _ := corner.Axes()
			if got := math.Round(vector.Circle95(a, b)*100) / 100; got != c.horizontal95Centimet {
				t.Errorf("got %v, published %v", got, c.horizontal95Centimet)
			}
		})
	}
}

func TestVerticalAccuracy(t *testing.T) {
	var checks []vector.CornerCheck
	for _, u := range []float64{0.03, -0.04, 0.12} {
		checks = append(checks, vector.CornerCheck{DeltaU: u, Used: true})
	}
	s := control.Stats(checks).Kept
	// RMSE² = (9 + 16 + 144)/3 cm² = 56.33; 1.96 · RMSE (FGDC-STD-007.3-1998).
	if want := 1.96 * math.Sqrt(169.0/3) / 100; math.Abs(float64(s.Vertical95)-want) > 1e-12 {
		t.Errorf("got %v, want %v", s.Vertical95, want)
	}
	// The identity RMSE² = mean² + s²·(n − 1)/n.
	u := s.Up
	if got, want := float64(u.RMSE*u.RMSE), float64(u.Mean*u.Mean+u.SD*u.SD*2/3); math.Abs(got-want) > 1e-15 {
		t.Errorf("RMSE² %v, mean² + s²(n−1)/n %v", got, want)
	}
}

package ground

import (
	"math"
	"testing"
)

// The ground and object counts of the fifteen reference samples of the ISPRS
// filter test (Sithole and Vosselman 2004, ISPRS J. 59:85–101), and what Zhang
// et al. 2016, Remote Sensing 8:501, Table 3, print for their filter: Type I,
// Type II, total error and kappa in percent. From the two types of error and
// the counts our definitions must give the other two columns. (They are other
// scenes: nothing here is a comparison with our own figures.)
func TestMeasuresReproducePublishedTotals(t *testing.T) {
	samples := []struct {
		sample, ground, object      int
		typeI, typeII, total, kappa float64
	}{
		{11, 21786, 16224, 7.23, 18.44, 12.01, 75.17},
		{12, 26691, 25428, 1.15, 4.90, 2.97, 94.04},
		{21, 10085, 2875, 3.89, 1.78, 3.42, 90.47},
		{22, 22504, 10202, 1.29, 25.90, 8.94, 77.72},
		{23, 13223, 11872, 3.52, 6.21, 4.79, 90.38},
		{24, 5434, 2058, 1.03, 7.73, 2.87, 92.68},
		{31, 15556, 13306, 0.96, 2.38, 1.61, 96.75},
		{41, 5602, 5629, 1.48, 8.78, 5.14, 89.73},
		{42, 12443, 30027, 3.28, 0.87, 1.58, 96.18},
		{51, 13950, 3895, 2.67, 4.57, 3.08, 91.13},
		{52, 20112, 2362, 1.01, 28.79, 3.93, 77.05},
		{53, 32989, 1389, 3.85, 37.08, 5.20, 46.86},
		{54, 3983, 4625, 3.79, 2.64, 3.18, 93.61},
		{61, 33854, 1206, 0.87, 18.94, 1.49, 78.10},
		{71, 13875, 1770, 1.61, 37.85, 5.71, 68.03},
	}
	for _, s := range samples {
		lost := int(math.Round(float64(s.ground) * s.typeI / 100))
		leaked := int(math.Round(float64(s.object) * s.typeII / 100))
		got := tally{kept: s.ground - lost, lost: lost, leaked: leaked, removed: s.object - leaked}
		// The types of error are printed to 0.01 %; of the smaller class that
		// is 0.01 % of kappa's range and more, hence 0.04.
		if d := math.Abs(got.total() - s.total); d > 0.04 {
			t.Errorf("sample %d: total %.2f, published %.2f", s.sample, got.total(), s.total)
		}
		if d := math.Abs(got.kappa() - s.kappa); d > 0.04 {
			t.Errorf("sample %d: kappa %.2f, published %.2f", s.sample, got.kappa(), s.kappa)
		}
	}
}

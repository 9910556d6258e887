package layer_test

import (
	"math"
	"slices"
	"testing"

	"quoin/vector"
	"quoin/vector/layer"
)

// cell returns the value of a column in the first row of a layer.
func cell(t *testing.T, l layer.Layer, d vector.Delivery, column string) any {
	t.Helper()
	i := slices.IndexFunc(l.Columns, func(c layer.Column) bool { return c.Name == column })
	for row := range l.Rows(d) {
		return row.Values[i]
	}
	t.Fatalf("no row in %s", l.Name)
	return nil
}

func TestNetworkErrorsAreEmptyUntilKnown(t *testing.T) {
	d := small()
	if v := cell(t, layer.Corners(), d, "network_sigma_e"); v != nil {
		t.Errorf("got %v", v)
	}
	d.Footprints[0].Corners[0].Network = &vector.NetworkError{SigmaE: 0.05, SigmaN: 0.06, CovEN: 0.001}
	for column, want := range map[string]float64{"network_sigma_e": 0.05, "network_sigma_n": 0.06, "network_cov_en": 0.001} {
		if v := cell(t, layer.Corners(), d, column); v != want {
			t.Errorf("%s is %v", column, v)
		}
	}
}

// TestCombinedFactor: 100 m on the grid are 100.0447 m on the ground with a
// combined factor of 0.99955293 (300 m high, k 0.9996); areas go with its
// square.
func TestCombinedFactor(t *testing.T) {
	d := small()
	if v := cell(t, layer.Footprints(), d, "area_ground_m2"); v != nil {
		t.Errorf("without a factor: %v", v)
	}
	length, area := cell(t, layer.Footprints(), d, "perimeter_m").(float64), cell(t, layer.Footprints(), d, "area_m2").(float64)
	d.CombinedFactor = 0.99955293
	if v := cell(t, layer.Footprints(), d, "perimeter_ground_m").(float64); math.Abs(v-length*1.000447) > 1e-4 {
		t.Errorf("perimeter %v of %v", v, length)
	}
	if v := cell(t, layer.Footprints(), d, "area_ground_m2").(float64); math.Abs(v-area*1.000447*1.000447) > 2e-4 {
		t.Errorf("area %v of %v", v, area)
	}
	if v := cell(t, layer.Footprints(), d, "area_m2"); v != area {
		t.Errorf("the grid area went to %v", v)
	}
}

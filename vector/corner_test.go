package vector_test

import (
	"math"
	"testing"

	"quoin/vector"
)

// TestCircle95AgainstDataSheets takes rows of data sheets of the National
// Geodetic Survey (PID GV0652 and GW1129, retrieved February 2025), standard
// deviations and radii in centimetres, printed with two decimals.
func TestCircle95AgainstDataSheets(t *testing.T) {
	for _, c := range []struct{ n, e, correlation, want float64 }{
		{1.09, 1.16, -0.29902673, 2.79},
		{0.80, 0.89, -0.10127264, 2.07},
		{0.93, 0.64, 0.12238238, 1.99},
		{0.48, 0.46, 0.00521369, 1.15},
		{1.07, 0.84, 0.04196526, 2.37},
		{0.76, 0.59, 0.34469534, 1.71},
		{0.42, 0.38, 0.74478411, 1.06},
		{0.78, 0.67, 0.57468556, 1.87},
		{0.82, 0.78, 0.34271073, 1.99},
		{0.82, 0.74, 0.39436144, 1.96},
	} {
		major, minor, _ := vector.Ellipse(c.e, c.n, c.correlation*c.e*c.n)
		if got := vector.Circle95(major, minor); math.Abs(got-c.want) > 0.005 {
			t.Errorf("%+v: %.4f", c, got)
		}
	}
	if vector.Circle95(0, 0) != 0 {
		t.Error("no error has a circle")
	}
}

func TestAzimuth(t *testing.T) {
	for direction, want := range map[float64]float64{0: 90, math.Pi / 2: 0, math.Pi / 4: 45, -math.Pi / 4: 135, math.Pi: 90} {
		if got := vector.Azimuth(direction); math.Abs(got-want) > 1e-9 {
			t.Errorf("%v: %v, want %v", direction, got, want)
		}
	}
}

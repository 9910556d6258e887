package swath

import (
	"math"
	"math/rand/v2"
	"testing"
)

// Positions of a known flight are found from its pulses' returns. What the
// errors are for airborne data: with returns on 1 cm steps a ray 5 m long
// points to within 0.8 m at 800 m, and some hundred of them meet in a second.
func TestReturnsTellWhereTheSensorWas(t *testing.T) {
	tests := []struct {
		name   string
		flight flight
		across float64 // allowed root mean square, metres
	}{
		{"rotating drone", flight{rate: 20000, path: drone(0, 0, 0.3), beam: rotating, noise: 0.01}, 0.25},
		{"line drone", flight{rate: 20000, path: drone(0, 0, 2), beam: lines, noise: 0.01}, 0.25},
		{"line drone on 1 cm steps", flight{rate: 20000, path: drone(0, 0, 2), beam: lines, resolution: 0.01}, 0.15},
		{"aircraft on 1 cm steps", flight{rate: 40000, path: aircraft(0, 0, 1), beam: oscillating, resolution: 0.01}, 0.4},
		{"aircraft, 2 cm noise", flight{rate: 40000, path: aircraft(0, 0, 1), beam: oscillating, noise: 0.02}, 1.6},
	}
	for i, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			f := tt.flight
			f.seed, f.source, f.start, f.seconds, f.second = uint64(i), 7, 1000.2, 12, 0.1
			m := f.miss(Track(block(&f), 2))
			t.Logf("%+v", m)
			if m.across > tt.across || m.share < 0.97 {
				t.Errorf("positions across rays off by %.3f m for %.2f of the flight, want %.2f m for 0.97", m.across, m.share, tt.across)
			}
			if m.ratio < 0.2 || m.ratio > 3 {
				t.Errorf("squared errors are %.2f times what was stated", m.ratio)
			}
		})
	}
}

// Without returns, the scan angle tells. Whole degrees are right to 0.3°, a
// hundred times what returns give.
func TestScanAngleTellsWhereTheSensorWas(t *testing.T) {
	houses := func(x, y float64) float64 {
		if math.Mod(math.Abs(x), 20) < 9 && math.Mod(math.Abs(y), 20) < 9 {
			return 6
		}
		return 0.02 * x
	}
	tilted := func(t float64, n int, r *rand.Rand) (across, along float64) {
		across, _ = lines(t, n, r)
		return across, 6 * degree
	}
	tests := []struct {
		name   string
		flight flight
		across float64
	}{
		{"line drone", flight{rate: 20000, path: drone(0, 0, 2), beam: lines, noise: 0.01, ground: houses}, 0.7},
		{"line drone, plane tilted by 6°", flight{rate: 20000, path: drone(0, 0, 2), beam: tilted, noise: 0.01, ground: houses}, 0.7},
		{"rotating drone", flight{rate: 20000, path: drone(0, 0, 0.3), beam: rotating, noise: 0.01, ground: houses}, 1.2},
		{"aircraft", flight{rate: 40000, path: aircraft(0, 0, 1), beam: oscillating, noise: 0.02, ground: houses}, 8},
	}
	for i, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			f := tt.flight
			f.seed, f.source, f.start, f.seconds, f.noReturns = uint64(i), 7, 1000.2, 12, true
			tr := Track(block(&f), 2)
			m := f.miss(tr)
			t.Logf("%+v", m)
			if m.across > tt.across || m.share < 0.95 {
				t.Errorf("positions across rays off by %.3f m for %.2f of the flight, want %.2f m for 0.95", m.across, m.share, tt.across)
			}
			if m.ratio > 3 {
				t.Errorf("squared errors are %.2f times what was stated", m.ratio)
			}
		})
	}
}

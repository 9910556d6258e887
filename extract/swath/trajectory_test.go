package swath

import (
	"math"
	"math/rand/v2"
	"testing"

	"quoin/extract/cloud"
)

// Positions of a known flight are found from its pulses' returns. What the
// errors are for airborne data: with returns on 1 cm steps a ray 5 m long
// points to within 0.8 m at 800 m, and six hundred of them meet in a second:
// 3 cm. Limits are about twice what was measured.
func TestReturnsTellWhereTheSensorWas(t *testing.T) {
	tests := []struct {
		name   string
		flight flight
		across float64 // allowed root mean square, metres
	}{
		{"rotating drone", flight{rate: 8000, path: drone(0, 0, 0.3), beam: rotating, noise: 0.01}, 0.02},
		{"line drone", flight{rate: 8000, path: drone(0, 0, 2), beam: lines, noise: 0.01}, 0.02},
		{"line drone on 1 cm steps", flight{rate: 8000, path: drone(0, 0, 2), beam: lines, resolution: 0.01}, 0.01},
		{"aircraft on 1 cm steps", flight{rate: 15000, path: aircraft(0, 0, 1), beam: oscillating, resolution: 0.01}, 0.07},
		{"aircraft, 2 cm noise", flight{rate: 15000, path: aircraft(0, 0, 1), beam: oscillating, noise: 0.02}, 0.3},
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
			if m.ratio < 0.05 || m.ratio > 2 {
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
		{"line drone", flight{rate: 8000, path: drone(0, 0, 2), beam: lines, noise: 0.01, ground: houses}, 0.05},
		{"line drone, plane tilted by 6°", flight{rate: 8000, path: drone(0, 0, 2), beam: tilted, noise: 0.01, ground: houses}, 0.05},
		{"rotating drone", flight{rate: 8000, path: drone(0, 0, 0.3), beam: rotating, noise: 0.01, ground: houses}, 0.4},
		{"aircraft", flight{rate: 15000, path: aircraft(0, 0, 1), beam: oscillating, noise: 0.02, ground: houses}, 0.5},
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

// Where the points do not tell where the sensor was, nothing is said.
func TestNoPositionOutOfNothing(t *testing.T) {
	base := flight{source: 7, start: 1000, seconds: 6, rate: 5000, path: drone(0, 0, 0.3), beam: lines, noise: 0.01}
	tests := []struct {
		name   string
		change func(f *flight)
	}{
		{"flat ground, constant scan angle", func(f *flight) { f.flatAngle = true }},
		{"no returns, constant scan angle", func(f *flight) { f.flatAngle, f.noReturns, f.second = true, true, 0.2 }},
		{"time rounded to seconds", func(f *flight) { f.flatAngle, f.second, f.timeStep = true, 0.2, 1 }},
		{"three pulses with two returns", func(f *flight) { f.flatAngle, f.second = true, 0.0001 }},
		{"returns that are none of one pulse", func(f *flight) {
			// Every position is noise: what shares a time lies anywhere.
			f.flatAngle, f.second, f.noise = true, 0.2, 5
		}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			f := base
			tt.change(&f)
			if m := f.miss(Track(block(&f), 2)); m.share != 0 {
				t.Errorf("a position for %.2f of the flight: %+v", m.share, m)
			}
		})
	}
}

// Hard cases in which positions can still be had, and how good they are.
func TestPositionsInHardCases(t *testing.T) {
	base := flight{source: 7, start: 1000, seconds: 12, rate: 8000, path: drone(0, 0, 0.3), beam: lines, noise: 0.01, second: 0.1}
	tests := []struct {
		name          string
		change        func(f *flight)
		across, share float64
	}{
		{"one pulse in a thousand has two returns", func(f *flight) { f.second = 0.001 }, 0.15, 0.9},
		{"a block of 30 m beside the line", func(f *flight) {
			f.second = 0.05
			f.keep = func(x, y float64) bool { return x > 30 && x < 60 && y > -30 && y < 0 }
		}, 0.15, 0.3},
		{"a tenth of the pulses is garbled", func(f *flight) { f.garbled = 0.1 }, 0.03, 0.97},
		{"noise of 5 cm a return", func(f *flight) { f.noise = 0.05 }, 0.15, 0.97},
		{"time in whole 10 µs", func(f *flight) { f.timeStep = 1e-5 }, 0.03, 0.97},
		{"a turn of 12° a second", func(f *flight) { f.path = turner }, 0.05, 0.97},
		{"each return with its own time", func(f *flight) { f.ownTimes = true }, 0.03, 0.97},
		{"the end of the GPS week", func(f *flight) { f.start, f.week = 604800-6.3, true }, 0.03, 0.97},
	}
	for i, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			f := base
			f.seed = uint64(i)
			tt.change(&f)
			m := f.miss(Track(block(&f), 2))
			t.Logf("%+v", m)
			if !(m.across <= tt.across) || m.share < tt.share {
				t.Errorf("off by %.3f m for %.2f of the flight, want %.2f m for %.2f", m.across, m.share, tt.across, tt.share)
			}
			if m.ratio < 0.05 || m.ratio > 3 {
				t.Errorf("squared errors are %.2f times what was stated", m.ratio)
			}
		})
	}
}

// turner flies straight for 4 s, turns by 48° in 4 s on an arc of 38 m, and
// goes on.
func turner(t float64) vec {
	const speed, rate = 8, 12 * degree
	const radius = speed / rate
	angle := rate * min(max(t-4, 0), 4)
	after := speed * max(t-8, 0)
	return vec{
		speed*min(t, 4) + radius*math.Sin(angle) + after*math.Cos(angle),
		radius*(1-math.Cos(angle)) + after*math.Sin(angle), 60,
	}
}

// Several lines with the id 0, one of them in another flight of the same
// sensor hours later: each has its positions, and what lies between has none.
func TestLinesWithoutIDs(t *testing.T) {
	var flights []*flight
	for i := range 3 {
		flights = append(flights, &flight{
			seed: uint64(i), start: 1000 + 3000*float64(i), seconds: 5, rate: 8000, second: 0.1, noise: 0.01,
			path: drone(-20, 20*float64(i), float64(i)), beam: rotating,
		})
	}
	b := block(flights...)
	tr := Track(b, 2)
	for i, f := range flights {
		if m := f.miss(tr); m.across > 0.05 || m.share < 0.97 {
			t.Errorf("line %d: %+v", i, m)
		}
	}
	p := cloud.Pack(0, 0, 0, cloud.Attributes{Time: 2500})
	if _, _, _, ok := tr.At(0, p.Tick()); ok {
		t.Error("a position between two flights")
	}
	if _, _, _, ok := tr.At(9, flights[0].points()[0].Tick()); ok {
		t.Error("a position for a source that is not there")
	}
	if got := len(Measure(b, 2).Report.Swaths); got != 3 {
		t.Errorf("%d swaths, want 3", got)
	}
}

// A turn is found within the two seconds over which a heading is taken, and
// divides the flight in two swaths.
func TestTurnsAreFlagged(t *testing.T) {
	f := flight{source: 1, start: 1000, seconds: 12, rate: 8000, path: turner, beam: lines, noise: 0.01, second: 0.1}
	b := block(&f)
	tr := Track(b, 2)
	for s := 0.25; s < f.seconds; s += 0.5 {
		p := cloud.Pack(0, 0, 0, cloud.Attributes{Time: f.start + s})
		got := tr.Turning(1, p.Tick())
		if s > 4.5 && s < 7.5 && !got {
			t.Errorf("after %.2f s: in a turn and not flagged", s)
		}
		if (s < 2 || s > 10) && got {
			t.Errorf("after %.2f s: straight and flagged", s)
		}
	}
	r := Measure(b, 2).Report
	if len(r.Swaths) != 2 {
		t.Fatalf("%d swaths, want 2", len(r.Swaths))
	}
	for i, want := range []float64{90, 42} {
		if s := r.Swaths[i]; math.Abs(s.Heading-want) > 2 || math.Abs(s.Speed-8) > 0.2 || s.Position != FromReturns {
			t.Errorf("swath %d: %+v, want 8 m/s at %.0f°", i, s, want)
		}
	}
	if r.Turning < 0.25 || r.Turning > 0.6 {
		t.Errorf("%.2f of the points in turns, 0.33 were and 0.25 are within a second of one", r.Turning)
	}
}

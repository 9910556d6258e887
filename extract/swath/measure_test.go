package swath

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"quoin/extract/cloud"
)

// lawn returns n points spread at random over a square, on a gentle slope.
func lawn(seed uint64, n int, side, noise float64, a cloud.Attributes) []cloud.Point {
	r := rand.New(rand.NewPCG(seed, 5))
	points := make([]cloud.Point, n)
	for i := range points {
		x, y := r.Float64()*side, r.Float64()*side
		points[i] = cloud.Pack(x, y, 100+0.05*x-0.02*y+noise*r.NormFloat64(), a)
	}
	return points
}

func TestMeasureFindsDensityAndNoise(t *testing.T) {
	tests := []struct {
		name           string
		density, noise float64
	}{
		{"sparse", 2, 0.03},
		{"airborne", 8, 0.02},
		{"dense", 100, 0.01},
		{"noisy", 30, 0.05},
		{"without noise", 20, 0},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			const side = 80
			n := int(tt.density * side * side)
			b := blockOf(lawn(9, n, side, tt.noise, cloud.Attributes{Source: 1, Return: 1, Returns: 1}))
			r := Measure(b, 2)
			t.Logf("%+v", r.Measures)
			if got := r.Measures.Density; math.Abs(got-tt.density) > 0.05*tt.density {
				t.Errorf("density %.2f, want %.2f", got, tt.density)
			}
			if got := r.Measures.Spacing; math.Abs(got*got*r.Measures.Density-1) > 1e-9 {
				t.Errorf("spacing %.3f is not 1/√density", got)
			}
			// Along the normal of a 5 % slope; packing adds 0.03 mm.
			if got := r.Measures.SigmaZ; math.Abs(got-tt.noise) > 0.05*tt.noise+1e-4 {
				t.Errorf("noise %.4f m, want %.4f", got, tt.noise)
			}
		})
	}
}

// Grass on half of the area and trees on a quarter do not pass for noise.
func TestRoughGroundIsNotNoise(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 4))
	points := lawn(3, 60000, 60, 0.015, cloud.Attributes{Return: 1, Returns: 1})
	for i := range points {
		p := &points[i]
		switch {
		case p.East() < 30:
			p.Z += int32(r.NormFloat64() * 0.06 / cloud.Step)
		case p.North() < 30:
			p.Z += int32(r.Float64() * 8 / cloud.Step)
		}
	}
	if got := Measure(blockOf(points), 1).Measures.SigmaZ; math.Abs(got-0.015) > 0.001 {
		t.Errorf("noise %.4f m, want 0.015", got)
	}
}

// Two swaths shifted against each other: the thickness grows by half of the
// shift in quadrature, the repeatability within a swath does not.
func TestShiftBetweenSwathsIsNotRepeatability(t *testing.T) {
	const noise, shift = 0.01, 0.04
	points := lawn(1, 40000, 50, noise, cloud.Attributes{Source: 1})
	for _, p := range lawn(2, 40000, 50, noise, cloud.Attributes{Source: 2}) {
		p.Z += int32(shift / cloud.Step)
		points = append(points, p)
	}
	s := Measure(blockOf(points), 2).Report.Surface
	if want := math.Hypot(noise, shift/2); math.Abs(s.Together-want) > 0.05*want {
		t.Errorf("swaths together %.4f m, want %.4f", s.Together, want)
	}
	if math.Abs(s.Within-noise) > 0.05*noise {
		t.Errorf("within a swath %.4f m, want %.4f", s.Within, noise)
	}
}

func TestPulsesNotReturnsMakeTheDensity(t *testing.T) {
	points := lawn(1, 20000, 50, 0, cloud.Attributes{Return: 1, Returns: 2})
	points = append(points, lawn(2, 20000, 50, 0, cloud.Attributes{Return: 2, Returns: 2})...)
	if got := Measure(blockOf(points), 2).Measures.Density; math.Abs(got-8) > 0.4 {
		t.Errorf("density %.2f, want 8", got)
	}
}

// everything is what a block gives, in comparable form.
type everything struct {
	Measures cloud.Measures
	Report   Report
	Knots    []knot
}

func all(r Result) everything {
	e := everything{Measures: r.Measures, Report: r.Report}
	for _, s := range r.Report.Swaths {
		for _, tracks := range [][]track{r.Trajectory.fromReturns[s.Source], r.Trajectory.fromAngles[s.Source]} {
			for _, k := range tracks {
				e.Knots = append(e.Knots, k.knots...)
			}
		}
	}
	return e
}

func twoLines() []cloud.Point {
	var points []cloud.Point
	for i := range 2 {
		f := flight{
			seed: uint64(i), source: uint16(i), start: 500 + 100*float64(i), seconds: 3, rate: 2500, second: 0.1, noise: 0.01,
			path: drone(-20, 10*float64(i)-5, 0.2), beam: rotating,
		}
		points = append(points, f.points()...)
	}
	return points
}

func TestOrderAndWorkersChangeNothing(t *testing.T) {
	points := twoLines()
	want := all(Measure(blockOf(points), 1))
	if len(want.Knots) == 0 {
		t.Fatal("no position was found")
	}
	rapid.Check(t, func(t *rapid.T) {
		seed := rapid.Uint64().Draw(t, "seed")
		rand.New(rand.NewPCG(seed, 1)).Shuffle(len(points), func(i, j int) { points[i], points[j] = points[j], points[i] })
		got := all(Measure(blockOf(points), rapid.IntRange(1, 7).Draw(t, "workers")))
		if diff := cmp.Diff(want, got, cmp.AllowUnexported(knot{}, Surface{})); diff != "" {
			t.Error(diff)
		}
	})
}

// The same place about another origin is looked at on the same patches, with
// the same result to the last bit, but for the origin in the positions.
func TestOriginChangesNothing(t *testing.T) {
	points := twoLines()
	want := all(Measure(blockOf(points), 2))
	const steps = cloud.OriginStep * 10000
	for i := range points {
		points[i].X -= 3 * steps
		points[i].Y += steps
	}
	b := blockOf(points)
	b.Frame.OriginE, b.Frame.OriginN = 3*cloud.OriginStep, -cloud.OriginStep
	got := all(Measure(b, 2))
	for i := range got.Knots {
		k := &got.Knots[i].at
		k[0], k[1] = k[0]+3*cloud.OriginStep, k[1]-cloud.OriginStep
		for axis := range k {
			if math.Abs(k[axis]-want.Knots[i].at[axis]) > 1e-8 {
				t.Fatalf("knot %d at %v, want %v", i, *k, want.Knots[i].at)
			}
		}
	}
	want.Knots, got.Knots = nil, nil
	for i := range want.Report.Swaths {
		// Speeds are differences of positions, which carry the origin.
		w, g := &want.Report.Swaths[i], &got.Report.Swaths[i]
		if math.Abs(w.Speed-g.Speed) > 1e-6 || math.Abs(w.Heading-g.Heading) > 1e-6 {
			t.Errorf("speed and heading %v, %v, want %v, %v", g.Speed, g.Heading, w.Speed, w.Heading)
		}
		w.Speed, w.Heading, g.Speed, g.Heading = 0, 0, 0, 0
	}
	if diff := cmp.Diff(want, got, cmp.AllowUnexported(knot{}, Surface{})); diff != "" {
		t.Error(diff)
	}
}

func TestBlocksWithNextToNothing(t *testing.T) {
	one := cloud.Pack(1, 2, 3, cloud.Attributes{Source: 5})
	tests := []struct {
		name   string
		points []cloud.Point
	}{
		{"empty", nil},
		{"one point", []cloud.Point{one}},
		{"two points", []cloud.Point{one, cloud.Pack(1, 2, 4, cloud.Attributes{})}},
		{"no time, no returns", lawn(1, 2000, 20, 0.02, cloud.Attributes{})},
		{"all on one line", func() (p []cloud.Point) {
			for i := range 500 {
				p = append(p, cloud.Pack(float64(i)*0.01, 0, 1, cloud.Attributes{Time: float64(i), Return: 1, Returns: 1}))
			}
			return p
		}()},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r := Measure(blockOf(tt.points), 2)
			for name, v := range map[string]float64{
				"density": r.Measures.Density, "spacing": r.Measures.Spacing, "sigma z": r.Measures.SigmaZ,
				"sigma": r.Measures.Sigma, "beam": r.Measures.Beam,
			} {
				if !(v >= 0) || math.IsInf(v, 0) {
					t.Errorf("%s is %v", name, v)
				}
			}
			if _, err := json.Marshal(r.Report); err != nil {
				t.Errorf("the report is no JSON: %v", err)
			}
			if _, _, _, ok := r.Trajectory.At(5, one.Tick()); ok {
				t.Error("a position out of nothing")
			}
		})
	}
}

// Whatever the columns hold, the result is finite and can be written.
func TestGarbageDoesNoHarm(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		extent := rapid.SampledFrom([]float64{0.001, 3, 100}).Draw(t, "extent")
		span := rapid.SampledFrom([]float64{0, 1e-6, 2, 100, 1e6, 1e12}).Draw(t, "time span")
		steps := rapid.SampledFrom([]float64{0, 1, 20}).Draw(t, "time steps")
		points := make([]cloud.Point, rapid.IntRange(0, 800).Draw(t, "n"))
		for i := range points {
			time := r.Float64() * span
			if steps > 0 {
				time = math.Floor(r.Float64()*steps) / steps * span
			}
			points[i] = cloud.Pack(r.Float64()*extent, r.Float64()*extent, r.Float64()*extent, cloud.Attributes{
				Time: time, Source: uint16(r.IntN(2)), Return: uint8(r.IntN(4)), Returns: uint8(r.IntN(4)),
				ScanAngle: float32(r.IntN(256) - 128),
			})
		}
		if _, err := json.Marshal(Measure(blockOf(points), 2).Report); err != nil {
			t.Error(err)
		}
	})
}

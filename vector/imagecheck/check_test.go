package imagecheck

import (
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"quoin/vector"
)

func check(t *testing.T, img Image, edges []Edge) *Result {
	t.Helper()
	r, err := Check(context.Background(), img, edges, Options{Unit: 1, SameCloud: Independent})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func agreements(r *Result) map[Agreement]string {
	by := map[Agreement]string{}
	for _, b := range r.Buildings {
		by[b.Agreement] += b.ID
	}
	return by
}

func TestPlantedShiftRotationScale(t *testing.T) {
	town := newTown(4, 1).expose()
	middle := vec{town.side / 2, town.side / 2}
	for _, c := range []struct {
		name         string
		shift        vec
		turn, factor float64
	}{
		{"none", vec{}, 0, 0},
		{"shift", vec{0.123, -0.057}, 0, 0},
		{"largest", vec{-0.2, 0.2}, 0, 0},
		{"rotation", vec{0.05, 0}, 0.002, 0},
		{"scale", vec{0, 0.05}, 0, -0.001},
	} {
		t.Run(c.name, func(t *testing.T) {
			// The layer is moved against what is planted in the image.
			r := check(t, town, town.edges(func(_ int, p orb.Point) orb.Point {
				d := vec{p[0], p[1]}.sub(middle)
				q := middle.add(d).sub(c.shift).sub(vec{-d.y, d.x}.mul(c.turn)).sub(d.mul(c.factor))
				return orb.Point{q.x, q.y}
			}))
			for _, v := range []struct {
				what              string
				got, want, sigmas float64
			}{
				{"east", float64(r.East), c.shift.x, float64(r.SigmaEast)},
				{"north", float64(r.North), c.shift.y, float64(r.SigmaNorth)},
			} {
				// A tenth of a pixel is what the docs promise.
				if d := math.Abs(v.got - v.want); d > 3*v.sigmas+0.002 || d > 0.1*town.pixel {
					t.Errorf("%s is %.4f ± %.4f, want %.4f", v.what, v.got, v.sigmas, v.want)
				}
			}
			if d := math.Abs(float64(r.Rotation) - c.turn); d > 3*float64(r.SigmaRotation)+2e-5 {
				t.Errorf("rotation is %.6f ± %.6f, want %.6f", r.Rotation, r.SigmaRotation, c.turn)
			}
			if d := math.Abs(float64(r.Scale) - c.factor); d > 3*float64(r.SigmaScale)+2e-5 {
				t.Errorf("scale is %.6f ± %.6f, want %.6f", r.Scale, r.SigmaScale, c.factor)
			}
			if r.Lean.Verdict != TrueOrtho {
				t.Errorf("verdict %s: %s", r.Lean.Verdict, r.Lean.Reason)
			}
		})
	}
}

// TestStandardErrorsAreCalibrated lays layers with random errors of buildings and
// of edges over one image: the squared errors of the shift over their standard
// errors have a mean near one. With n independent values the mean of χ² with one
// degree has a standard deviation of √(2/n); four of them are allowed, and as
// much again for what 16 buildings know of their own scatter (Student's t with
// 15 degrees: variance 15/13).
func TestStandardErrorsAreCalibrated(t *testing.T) {
	town := newTown(4, 2).expose()
	const trials = 60
	sum, sumSize := 0.0, 0.0
	for trial := range trials {
		rng := rand.New(rand.NewPCG(uint64(trial), 3))
		own := make([]orb.Point, len(town.houses))
		for i := range own {
			own[i] = orb.Point{0.025 * rng.NormFloat64(), 0.025 * rng.NormFloat64()}
		}
		r := check(t, town, town.edges(func(house int, p orb.Point) orb.Point {
			return orb.Point{p[0] + own[house][0] + 0.01*rng.NormFloat64(), p[1] + own[house][1] + 0.01*rng.NormFloat64()}
		}))
		e, n, s := float64(r.East/r.SigmaEast), float64(r.North/r.SigmaNorth), float64(r.Size/r.SigmaSize)
		sum, sumSize = sum+e*e+n*n, sumSize+s*s
	}
	for what, c := range map[string][2]float64{"shift": {sum / (2 * trials), 2 * trials}, "size": {sumSize / trials, trials}} {
		spread := 4 * math.Sqrt(2/c[1])
		if c[0] < 1-spread || c[0] > 15.0/13+spread {
			t.Errorf("%s: mean squared error over squared standard error is %.2f, want 1 within %.2f", what, c[0], spread)
		}
	}
}

func TestLeanIsTold(t *testing.T) {
	const camera = 120 // metres above ground
	nadir := vec{30, 40}
	for _, c := range []struct {
		name   string
		lean   func(p vec, height float64) vec
		slope  func(p vec) float64
		single bool
	}{
		{"to one side", func(_ vec, h float64) vec { return vec{0.12, -0.05}.mul(h) }, func(vec) float64 { return 0.13 }, false},
		{
			"away from a nadir", func(p vec, h float64) vec { return p.sub(nadir).mul(h / (camera - h)) },
			func(p vec) float64 { return p.sub(nadir).length() / camera }, true,
		},
	} {
		t.Run(c.name, func(t *testing.T) {
			town := newTown(4, 3)
			town.lean = c.lean
			r := check(t, town.expose(), town.edges(nil))
			if r.Lean.Verdict != ReliefDisplacement {
				t.Fatalf("verdict %s: %s", r.Lean.Verdict, r.Lean.Reason)
			}
			want := 0.0
			for i := range town.houses {
				s := c.slope(town.houses[i].at)
				want += s * s / float64(len(town.houses))
			}
			want = math.Sqrt(want)
			if d := math.Abs(float64(r.Lean.Slope) - want); d > 4*float64(r.Lean.Sigma)+0.005 {
				t.Errorf("lean %.3f ± %.3f, want %.3f", r.Lean.Slope, r.Lean.Sigma, want)
			}
			if c.single && (r.Lean.Nadir == nil || math.Hypot(r.Lean.Nadir[0]-nadir.x, r.Lean.Nadir[1]-nadir.y) > 3 || math.Abs(float64(r.Lean.Height)-camera) > 10) {
				t.Errorf("camera %v m above %v, want %d above %v", r.Lean.Height, r.Lean.Nadir, camera, nadir)
			}
			if math.Abs(float64(r.East)) > 4*float64(r.SigmaEast)+0.01 {
				t.Errorf("shift east %.3f ± %.3f beside the lean, want 0", r.East, r.SigmaEast)
			}
		})
	}
}

func TestWithoutHeightsTheVerdictIsOpen(t *testing.T) {
	town := newTown(3, 4).expose()
	edges := town.edges(nil)
	for i := range edges {
		edges[i].Height = math.NaN()
	}
	if r := check(t, town, edges); r.Lean.Verdict != Undecided || !math.IsNaN(float64(r.Lean.Slope)) {
		t.Errorf("verdict %s with a lean of %v", r.Lean.Verdict, r.Lean.Slope)
	}
}

func TestWhoIsWrong(t *testing.T) {
	base := newTown(4, 5).expose()
	moved := func(by vec, houses string) mistake {
		return func(house int, p orb.Point) orb.Point {
			if strings.ContainsRune(houses, rune('a'+house)) {
				return orb.Point{p[0] - by.x, p[1] - by.y}
			}
			return p
		}
	}
	t.Run("nobody", func(t *testing.T) {
		if by := agreements(check(t, base, base.edges(nil))); len(by[Agrees]) != 16 {
			t.Errorf("got %v", by)
		}
	})
	t.Run("one building off", func(t *testing.T) {
		r := check(t, base, base.edges(moved(vec{0.3, 0.2}, "f")))
		if by := agreements(r); by[FootprintShift] != "f" || len(by[Agrees]) != 15 {
			t.Errorf("got %v", by)
		}
		if b := r.Buildings[5]; math.Abs(float64(b.BesideEast)-0.3) > 0.02 || math.Abs(float64(b.BesideNorth)-0.2) > 0.02 {
			t.Errorf("it lies %.3f, %.3f beside the others, want 0.3, 0.2", b.BesideEast, b.BesideNorth)
		}
	})
	t.Run("one building too small", func(t *testing.T) {
		r := check(t, base, base.edges(func(house int, p orb.Point) orb.Point {
			if house != 6 {
				return p
			}
			h := base.houses[6]
			d := vec{p[0], p[1]}.sub(h.at)
			sin, cos := math.Sincos(h.turn)
			u, v := cos*d.x+sin*d.y, cos*d.y-sin*d.x
			u, v = u-math.Copysign(0.25, u), v-math.Copysign(0.25, v)
			return orb.Point{h.at.x + cos*u - sin*v, h.at.y + sin*u + cos*v}
		}))
		if by := agreements(r); by[FootprintSize] != "g" || len(by[Agrees]) != 15 {
			t.Errorf("got %v", by)
		}
		if s := r.Buildings[6].Size; math.Abs(float64(s)-0.25) > 0.02 {
			t.Errorf("size bias %.3f, want 0.25", s)
		}
	})
	t.Run("a patch of the image", func(t *testing.T) {
		torn := newTown(6, 5)
		torn.patch = vec{0.35, -0.25}
		for i := range torn.houses {
			torn.houses[i].height = 3 + float64(i%3)
		}
		by := agreements(check(t, torn.expose(), torn.edges(nil)))
		if len(by[ImageSeam]) < 15 || len(by[FootprintShift]) > 0 {
			t.Errorf("got %v", by)
		}
	})
}

func TestPartyWallsAreNotMeasured(t *testing.T) {
	square := func(x float64) orb.Polygon {
		return orb.Polygon{{{x, 0}, {x + 10, 0}, {x + 10, 10}, {x, 10}, {x, 0}}}
	}
	edges := append(EdgesOf("a", square(0), 5), EdgesOf("b", square(10), 5)...)
	shared := sharedEdges(edges, frameOf(edges, 1))
	for i, want := range []bool{false, true, false, false, false, false, false, true} {
		if shared[i] != want {
			t.Errorf("edge %d of %s: shared is %v, want %v", edges[i].Number, edges[i].Building, shared[i], want)
		}
	}
}

func TestNothingSeen(t *testing.T) {
	town := newTown(2, 1).expose()
	far := town.edges(func(_ int, p orb.Point) orb.Point { return orb.Point{p[0] + 1e5, p[1]} })
	for name, edges := range map[string][]Edge{"beside the image": far, "no edges": nil} {
		if _, err := Check(context.Background(), town, edges, Options{Unit: 1}); !errors.Is(err, ErrNothingSeen) {
			t.Errorf("%s: got %v", name, err)
		}
	}
	if _, err := Check(context.Background(), town, town.edges(nil), Options{}); err == nil {
		t.Error("no unit, no error")
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := Check(ctx, town, town.edges(nil), Options{Unit: 1}); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: got %v", err)
	}
}

// TestUnits checks a layer in feet: results are metres, lines and rows feet.
func TestUnits(t *testing.T) {
	town := newTown(3, 6).expose()
	const foot = 0.3048
	edges := town.edges(func(_ int, p orb.Point) orb.Point { return orb.Point{(p[0] - 0.1) / foot, p[1] / foot} })
	img := inFeet{town}
	r, err := Check(context.Background(), img, edges, Options{Unit: foot})
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(float64(r.East)-0.1) > 0.01 {
		t.Errorf("shift east %.4f m, want 0.1", r.East)
	}
	if line := r.Line(vector.Foot); !strings.HasPrefix(line, fmt.Sprintf("shift dx %+.3f", float64(r.East)/foot)) || !strings.Contains(line, " ft (") {
		t.Errorf("line %q", line)
	}
	if row := r.Rows()[0]; math.Abs(row.DeltaE*foot-float64(r.Buildings[0].East)) > 1e-9 {
		t.Errorf("row has %v, building %v", row.DeltaE, r.Buildings[0].East)
	}
}

type inFeet struct{ *town }

func (t inFeet) Place(p orb.Point) (col, row float64, err error) {
	return t.town.Place(orb.Point{p[0] * 0.3048, p[1] * 0.3048})
}

func TestSentences(t *testing.T) {
	town := newTown(3, 6).expose()
	r := check(t, town, town.edges(nil))
	text := strings.Join(r.Sentences(), "\n")
	for _, want := range []string{"pixels of 10.0 cm", "an independent test", "True-ortho", "95 of 100 cases", "All buildings agree"} {
		if !strings.Contains(text, want) {
			t.Errorf("no %q in\n%s", want, text)
		}
	}
	for d, want := range map[Dependence]string{Dependent: "no independent test", Unknown: "was not stated"} {
		if r.SameCloud = d; !strings.Contains(r.independence(), want) {
			t.Errorf("%s: %s", d, r.independence())
		}
	}
}

func BenchmarkCheck(b *testing.B) {
	town := newTown(4, 1).expose()
	edges := town.edges(nil)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Check(context.Background(), town, edges, Options{Unit: 1}); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(len(edges))*float64(b.N)/b.Elapsed().Seconds(), "edges/s")
}

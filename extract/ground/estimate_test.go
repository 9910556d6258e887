package ground

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"quoin/extract/cloud"
)

func TestEstimateOfHardlyAnything(t *testing.T) {
	at := func(x, y, z float64) cloud.Point { return cloud.Pack(x, y, z, cloud.Attributes{}) }
	tests := []struct {
		name   string
		points []cloud.Point
		known  bool
	}{
		{"no point", nil, false},
		{"one", []cloud.Point{at(5, 5, 3)}, true},
		{"two", []cloud.Point{at(5, 5, 3), at(9, 9, 3)}, true},
		{"in a line", []cloud.Point{at(1, 5, 3), at(2, 5, 3), at(3, 5, 3), at(4, 5, 3)}, true},
		{"one above another", []cloud.Point{at(5, 5, 3), at(5, 5, 8)}, true},
		{"far away", []cloud.Point{at(5000, 5, 3)}, false},
		{"in the halo", []cloud.Point{at(-50, 5, 3)}, true},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			b, _ := cloud.NewBlock(cloud.Frame{Horizontal: 1, Vertical: 1}, tt.points)
			s, err := Estimate(b, cloud.Rect{MaxX: 20, MaxY: 20}, DefaultOptions(measures(4, 0.03)))
			if err != nil {
				t.Fatal(err)
			}
			for i, z := range s.Z.Values {
				if known := z == z; known != tt.known {
					t.Fatalf("cell %d: known %v, want %v", i, known, tt.known)
				}
				if tt.known && math.Abs(float64(z)-3) > 1e-3 {
					t.Fatalf("cell %d: %v, want 3", i, z)
				}
			}
		})
	}
}

func TestOptionsOutOfRange(t *testing.T) {
	o := DefaultOptions(measures(4, 0.03))
	o.Cell, o.Halo = 0.3, math.NaN()
	if _, err := Estimate(&cloud.Block{}, cloud.Rect{}, o); !errors.Is(err, ErrOptions) {
		t.Errorf("got %v, want %v", err, ErrOptions)
	}
}

// scanned returns a world's points with 3 cm of noise, and the options for it.
func scanned(w *world, density float64, seed uint64) (*cloud.Block, Options) {
	return w.scan(density, 0.03, seed), DefaultOptions(measures(density, 0.03))
}

func estimate(t testing.TB, b *cloud.Block, core cloud.Rect, o Options) *Surface {
	t.Helper()
	s, err := Estimate(b, core, o)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func TestOrderOfPointsDoesNotMatter(t *testing.T) {
	b, o := scanned(settlement(rough, 2), 3, 1)
	core := cloud.Rect{MinX: 40, MinY: 40, MaxX: 140, MaxY: 140}
	want := estimate(t, b, core, o)
	shuffled := slices.Clone(b.Points)
	rand.New(rand.NewPCG(3, 4)).Shuffle(len(shuffled), func(i, j int) { shuffled[i], shuffled[j] = shuffled[j], shuffled[i] })
	again, _ := cloud.NewBlock(b.Frame, shuffled)
	if diff := cmp.Diff(want, estimate(t, again, core, o)); diff != "" {
		t.Error("the surface depends on the order of points")
	}
}

func TestPointsBeyondTheHaloDoNotMatter(t *testing.T) {
	b, o := scanned(settlement(gentle, 2), 3, 1)
	core := cloud.Rect{MinX: 128, MinY: 128, MaxX: 160, MaxY: 160}
	o.Halo = 60
	want := estimate(t, b, core, o)
	near := core.Pad(o.Halo)
	var points []cloud.Point
	for i := range b.Points {
		if near.Contains(b.Points[i].East(), b.Points[i].North()) {
			points = append(points, b.Points[i])
		}
	}
	part, _ := cloud.NewBlock(b.Frame, points)
	if diff := cmp.Diff(want, estimate(t, part, core, o)); diff != "" {
		t.Error("points outside the halo change the surface")
	}
}

// Units that meet at a seam see different halos. What they say of the ground
// beside it may differ by what the triangulation far away does: hardly at all
// where there are points, little where there are none.
func TestSeam(t *testing.T) {
	w := settlement(rough, 3)
	w.size = 420
	// A hall across the seam, in the far half that is else without things.
	w.roofs = append(w.roofs, roof{x: 210, y: 260, w: 60, h: 44, turn: 0.2, eave: rough(210, 260) + 8})
	w.pads = append(w.pads, pad{210, 260, 70, 54, 0.2, rough(210, 260), 0.8})
	b, o := scanned(w, 4, 1)
	core := cloud.Rect{MinX: 130, MinY: 120, MaxX: 290, MaxY: 300}
	whole := estimate(t, b, core, o)
	left, right := core, core
	left.MaxX, right.MinX = 210, 210
	var seen, hidden []float64
	for _, part := range []*Surface{estimate(t, b, left, o), estimate(t, b, right, o)} {
		for i, z := range part.Z.Values {
			x, y := part.Z.Centre(i)
			at, _ := whole.Z.Index(x, y)
			d := math.Abs(float64(z - whole.Z.Values[at]))
			if whole.Interpolated.Values[at] {
				hidden = append(hidden, d)
			} else {
				seen = append(seen, d)
			}
		}
	}
	t.Logf("seen: 99.9 %% %.4f m, largest %.3f m (n=%d); hidden: 99 %% %.3f m, largest %.3f m (n=%d)",
		quantile(seen, 0.999), quantile(seen, 1), len(seen), quantile(hidden, 0.99), quantile(hidden, 1), len(hidden))
	if got := quantile(seen, 0.999); got > 0.01 {
		t.Errorf("where points are the surfaces differ by %.4f m", got)
	}
	if got := quantile(hidden, 0.99); got > 0.05 {
		t.Errorf("between points the surfaces differ by %.4f m", got)
	}
}

// Grids are anchored on the frame, so a shift by the origin's step changes
// nothing but the last digits of sums.
func TestShiftOfOrigin(t *testing.T) {
	b, o := scanned(settlement(rough, 2), 3, 1)
	core := cloud.Rect{MinX: 40, MinY: 40, MaxX: 140, MaxY: 140}
	want := estimate(t, b, core, o)
	moved := slices.Clone(b.Points)
	const step = cloud.OriginStep * 10000
	for i := range moved {
		moved[i].X -= step
		moved[i].Y += 2 * step
	}
	shifted, _ := cloud.NewBlock(b.Frame, moved)
	there := cloud.Rect{
		MinX: core.MinX - cloud.OriginStep, MinY: core.MinY + 2*cloud.OriginStep,
		MaxX: core.MaxX - cloud.OriginStep, MaxY: core.MaxY + 2*cloud.OriginStep,
	}
	got := estimate(t, shifted, there, o)
	for i, z := range got.Z.Values {
		if d := math.Abs(float64(z - want.Z.Values[i])); d > 2e-3 {
			t.Fatalf("cell %d: %v, want %v", i, z, want.Z.Values[i])
		}
	}
}

func TestAnyPointsGiveASurface(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		n := rapid.IntRange(1, 60).Draw(rt, "n")
		points := make([]cloud.Point, n)
		for i := range points {
			points[i] = cloud.Pack(
				rapid.Float64Range(-20, 40).Draw(rt, "x"), rapid.Float64Range(-20, 40).Draw(rt, "y"),
				rapid.Float64Range(-50, 50).Draw(rt, "z"), cloud.Attributes{})
		}
		b, _ := cloud.NewBlock(cloud.Frame{Horizontal: 1, Vertical: 1}, points)
		o := DefaultOptions(measures(rapid.Float64Range(0.1, 50).Draw(rt, "density"), 0.03))
		s, err := Estimate(b, cloud.Rect{MaxX: 24, MaxY: 16}, o)
		if err != nil {
			rt.Fatal(err)
		}
		for i, z := range s.Z.Values {
			if z != z || math.IsInf(float64(z), 0) {
				rt.Fatalf("cell %d is %v", i, z)
			}
		}
	})
}

func TestHeightAndMask(t *testing.T) {
	plane := func(x, y float64) float64 { return 100 + 0.5*x - 0.2*y }
	z := cloud.NewRaster[float32](cloud.NewGrid(cloud.Rect{MaxX: 20, MaxY: 20}, 1))
	for i := range z.Values {
		z.Values[i] = float32(plane(z.Centre(i)))
	}
	o := DefaultOptions(measures(4, 0.03))
	limit := o.Tolerance + 0.2*math.Hypot(0.5, 0.2)
	var points []cloud.Point
	wantHeight := []float64{0, limit - 0.01, limit + 0.01, -limit + 0.01, -limit - 0.01, 5}
	wantMask := []bool{true, true, false, true, false, false}
	for i, h := range wantHeight {
		x, y := 2.3+2*float64(i), 7.1
		points = append(points, cloud.Pack(x, y, plane(x, y)+h, cloud.Attributes{}))
	}
	b, _ := cloud.NewBlock(cloud.Frame{Horizontal: 1, Vertical: 1}, points)
	heights := Height(b, z)
	mask := Mask(b, z, heights, o)
	for i, h := range wantHeight {
		if math.Abs(float64(heights[i])-h) > 1e-3 || mask[i] != wantMask[i] {
			t.Errorf("point %d: height %v mask %v, want %v %v", i, heights[i], mask[i], h, wantMask[i])
		}
	}
	empty := cloud.NewRaster[float32](cloud.Grid{Cell: 1})
	for i, h := range Height(b, empty) {
		if h == h {
			t.Errorf("point %d: height %v over no surface, want NaN", i, h)
		}
	}
	if slices.Contains(Mask(b, empty, Height(b, empty), o), true) {
		t.Error("ground over no surface")
	}
}

// Where no ground is seen the surface says so: under a roof, over water, and
// nowhere else.
func TestInterpolated(t *testing.T) {
	w := &world{size: 100, terrain: gentle, water: []box{{x: 70, y: 70, w: 30, h: 30}}}
	w.roofs = []roof{{x: 30, y: 30, w: 30, h: 20, eave: 110}}
	b, o := scanned(w, 20, 1)
	s := estimate(t, b, cloud.Rect{MaxX: 100, MaxY: 100}, o)
	for i, got := range s.Interpolated.Values {
		x, y := s.Z.Centre(i)
		roofs, lake := outside(x, y, w.roofs[0]), outside(x, y, roof{x: 70, y: 70, w: 30, h: 30})
		d := min(roofs, lake)
		if d < -1.5 && !got || d > 0.5 && got {
			t.Errorf("cell at %v, %v: interpolated %v", x, y, got)
		}
	}
}

package form_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"
	"pgregory.net/rapid"

	"quoin/extract/cloud"
	"quoin/extract/form"
	"quoin/vector"
	"quoin/vector/topology"
)

// A shape is an invented roof: its outline, its elevation at a place, and the
// number of the smooth surface there, as the roof stage would find it.
type shape struct {
	outline orb.Polygon
	at      func(x, y float64) (z float64, surface int32)
}

func box(x0, y0, x1, y1 float64) orb.Polygon {
	return orb.Polygon{{{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}, {x0, y0}}}
}

// lowestOf returns the lowest of some planes and which it is: a convex roof.
func lowestOf(planes ...form.Plane) func(x, y float64) (float64, int32) {
	return func(x, y float64) (float64, int32) {
		best, z := int32(0), math.Inf(1)
		for k, p := range planes {
			if v := p.At(x, y); v < z {
				best, z = int32(k), v
			}
		}
		return z, best
	}
}

// slope rises from 5 m at a line through (x, y) by g to the east and the north.
func slope(x, y, gx, gy float64) form.Plane { return form.Plane{X: x, Y: y, Z: 5, GX: gx, GY: gy} }

func shapes() map[string]shape {
	gable := lowestOf(slope(0, 0, 0, 0.7), slope(0, 8, 0, -0.7))
	return map[string]shape{
		"flat":  {box(0, 0, 14, 9), lowestOf(form.Plane{Z: 6})},
		"shed":  {box(0, 0, 10, 6), lowestOf(slope(0, 0, 0, 0.2))},
		"gable": {box(0, 0, 12, 8), gable},
		"hip":   {box(0, 0, 12, 8), lowestOf(slope(0, 0, 0, 0.6), slope(0, 8, 0, -0.6), slope(0, 0, 0.6, 0), slope(12, 0, -0.6, 0))},
		"mansard": {box(0, 0, 14, 10), lowestOf(
			slope(0, 0, 0, 1.8), slope(0, 10, 0, -1.8), slope(0, 0, 1.8, 0), slope(14, 0, -1.8, 0),
			form.Plane{Y: 1.2, Z: 7.16, GY: 0.35}, form.Plane{Y: 8.8, Z: 7.16, GY: -0.35},
			form.Plane{X: 1.2, Z: 7.16, GX: 0.35}, form.Plane{X: 12.8, Z: 7.16, GX: -0.35},
		)},
		"dome":  {box(-8, -8, 8, 8), func(x, y float64) (float64, int32) { return 5 + math.Sqrt(200-x*x-y*y), 0 }},
		"cone":  {box(-4, -4, 4, 4), func(x, y float64) (float64, int32) { return 12 - 0.6*math.Hypot(x, y), 0 }},
		"vault": {box(0, -6, 20, 6), func(_, y float64) (float64, int32) { return math.Sqrt(100 - y*y), 0 }},
		"sawtooth": {box(0, 0, 20, 24), func(_, y float64) (float64, int32) {
			k := math.Floor(y / 6)
			return 5 + 0.45*(y-6*k), int32(k)
		}},
		"complex": {box(0, 0, 24, 8), func(x, y float64) (float64, int32) {
			if x > 12 {
				return 4, 2
			}
			return gable(x, y)
		}},
	}
}

// scan returns noisy returns on a shape, at random places.
func (s shape) scan(spacing, noise float64, seed uint64) []form.Point {
	r := rand.New(rand.NewPCG(seed, 2))
	b := s.outline.Bound()
	var points []form.Point
	n := int((b.Max[0] - b.Min[0]) * (b.Max[1] - b.Min[1]) / spacing / spacing)
	for range n {
		x := b.Min[0] + r.Float64()*(b.Max[0]-b.Min[0])
		y := b.Min[1] + r.Float64()*(b.Max[1]-b.Min[1])
		z, surface := s.at(x, y)
		points = append(points, form.Point{X: x, Y: y, Z: z + noise*r.NormFloat64(), Surface: surface})
	}
	return points
}

func measures(spacing, noise float64) cloud.Measures {
	return cloud.Measures{Spacing: spacing, SigmaZ: noise, Density: 1 / (spacing * spacing)}
}

func describe(t *testing.T, s shape, spacing float64) form.Roof {
	t.Helper()
	r, err := form.Describe(s.outline, s.scan(spacing, 0.02, 1), measures(spacing, 0.02))
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// TestTypes: the forms that INSPIRE and CityGML have names for.
func TestTypes(t *testing.T) {
	for name, s := range shapes() {
		for _, spacing := range []float64{0.15, 0.3, 0.5} {
			t.Run(fmt.Sprintf("%s at %v m", name, spacing), func(t *testing.T) {
				if r := describe(t, s, spacing); r.Type != vector.RoofType(name) {
					t.Errorf("type %q", r.Type)
				}
			})
		}
	}
}

func TestPartsTile(t *testing.T) {
	for name, s := range shapes() {
		t.Run(name, func(t *testing.T) {
			r := describe(t, s, 0.3)
			var all []orb.Polygon
			sum := 0.0
			for _, p := range r.Parts {
				if err := topology.Validate(p.Polygon); err != nil {
					t.Error(err)
				}
				all = append(all, p.Polygon)
				sum += topology.Area(p.Polygon)
			}
			if area := topology.Area(s.outline); math.Abs(sum-area) > 1e-3 {
				t.Errorf("the parts have %v m² of %v", sum, area)
			}
			if pairs, err := topology.Overlaps(all); err != nil || len(pairs) > 0 {
				t.Errorf("%d pairs overlap, %v", len(pairs), err)
			}
		})
	}
}

// TestHip: a hip roof of 12 m by 8 m with equal pitches has a ridge of 4 m, two
// trapezoids of 32 m² and two triangles of 16 m², as geometry has it.
func TestHip(t *testing.T) {
	r := describe(t, shapes()["hip"], 0.3)
	if len(r.Parts) != 4 {
		t.Fatalf("%d parts", len(r.Parts))
	}
	for i, want := range []float64{32, 32, 16, 16} {
		p := r.Parts[i]
		if a := topology.Area(p.Polygon); math.Abs(a-want) > 0.5 {
			t.Errorf("part %d: %.2f m², want %v", i, a, want)
		}
		if corners := map[float64]int{32: 5, 16: 4}[want]; len(p.Polygon[0]) != corners {
			t.Errorf("part %d has the ring %v", i, p.Polygon[0])
		}
		if math.Abs(p.Eave-5) > 0.05 || math.Abs(p.Ridge-7.4) > 0.05 {
			t.Errorf("part %d: from %.2f to %.2f, want 5 to 7.4", i, p.Eave, p.Ridge)
		}
		if math.Abs(p.RMS-0.02) > 0.005 {
			t.Errorf("part %d: rms %.3f, want 0.02", i, p.RMS)
		}
	}
	if want := math.Atan(0.6) * 180 / math.Pi; math.Abs(r.Pitch-want) > 0.3 {
		t.Errorf("pitch %v, want %v", r.Pitch, want)
	}
	if math.Abs(r.Eave-5) > 0.03 {
		t.Errorf("eave %v", r.Eave)
	}
}

// TestAspect: the roof falls from the eave line outwards; directions count
// clockwise from north.
func TestAspect(t *testing.T) {
	for _, c := range []struct {
		gx, gy float64
		want   float64
	}{{0, 0.5, 180}, {0, -0.5, 0}, {-0.5, 0, 90}, {0.5, 0, 270}, {-0.5, -0.5, 45}, {0.01, 0.01, math.NaN()}} {
		got := form.Plane{GX: c.gx, GY: c.gy}.Aspect()
		if math.Abs(got-c.want) > 1e-9 || math.IsNaN(got) != math.IsNaN(c.want) {
			t.Errorf("gradient %v %v: %v, want %v", c.gx, c.gy, got, c.want)
		}
	}
}

func TestWithoutPoints(t *testing.T) {
	for name, points := range map[string][]form.Point{
		"none": nil, "on no surface": {{X: 1, Y: 1, Z: 3, Surface: -1}},
		"few": {{X: 1, Y: 1, Z: 3}, {X: 2, Y: 1, Z: 3}, {X: 1, Y: 2, Z: 3}},
	} {
		t.Run(name, func(t *testing.T) {
			r, err := form.Describe(box(0, 0, 5, 5), points, measures(0.3, 0.02))
			if err != nil {
				t.Fatal(err)
			}
			if len(r.Parts) != 1 || r.Type != vector.RoofUnknown || topology.Area(r.Parts[0].Polygon) != 25 {
				t.Errorf("got %+v", r)
			}
		})
	}
}

// TestPointsOnALine must not fail or divide by nothing.
func TestPointsOnALine(t *testing.T) {
	var points []form.Point
	for i := range 60 {
		points = append(points, form.Point{X: 0.1 + float64(i)*0.08, Y: 2, Z: 4})
	}
	r, err := form.Describe(box(0, 0, 5, 5), points, measures(0.3, 0.02))
	if err != nil || len(r.Parts) != 1 {
		t.Errorf("%+v, %v", r, err)
	}
}

// TestTurning: turning a roof turns its parts and its aspect with it.
func TestTurning(t *testing.T) {
	s := shapes()["gable"]
	points := s.scan(0.3, 0.02, 3)
	rapid.Check(t, func(t *rapid.T) {
		angle := rapid.Float64Range(0, 2*math.Pi).Draw(t, "angle")
		sin, cos := math.Sincos(angle)
		turn := func(x, y float64) orb.Point { return orb.Point{300 + x*cos - y*sin, 700 + x*sin + y*cos} }
		outline := orb.Polygon{nil}
		for _, p := range s.outline[0] {
			outline[0] = append(outline[0], turn(p[0], p[1]))
		}
		moved := make([]form.Point, len(points))
		for i, p := range points {
			q := turn(p.X, p.Y)
			moved[i] = form.Point{X: q[0], Y: q[1], Z: p.Z, Surface: p.Surface}
		}
		r, err := form.Describe(outline, moved, measures(0.3, 0.02))
		if err != nil {
			t.Fatal(err)
		}
		if r.Type != vector.RoofGable || len(r.Parts) != 2 {
			t.Fatalf("%s with %d parts", r.Type, len(r.Parts))
		}
		for _, p := range r.Parts {
			if a := topology.Area(p.Polygon); math.Abs(a-48) > 0.6 {
				t.Errorf("area %v, want 48", a)
			}
			if len(p.Polygon[0]) != 5 {
				t.Errorf("ring %v", p.Polygon[0])
			}
		}
	})
}

func ExampleDescribe() {
	// A gable roof of 12 m by 8 m, with the ridge 2 m above the eaves.
	var points []form.Point
	for x := 0.25; x < 12; x += 0.5 {
		for y := 0.25; y < 8; y += 0.5 {
			if y < 4 {
				points = append(points, form.Point{X: x, Y: y, Z: 3 + y/2, Surface: 0})
			} else {
				points = append(points, form.Point{X: x, Y: y, Z: 7 - y/2, Surface: 1})
			}
		}
	}
	outline := orb.Polygon{{{0, 0}, {12, 0}, {12, 8}, {0, 8}, {0, 0}}}
	r, err := form.Describe(outline, points, cloud.Measures{Spacing: 0.5, SigmaZ: 0.02})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%s, pitch %.1f°, eave %.1f\n", r.Type, r.Pitch, r.Eave)
	for _, p := range r.Parts {
		fmt.Printf("%s falling to %.0f°, %.1f to %.1f, %v\n", p.Form, p.Plane.Aspect(), p.Eave, p.Ridge, p.Polygon)
	}
	// Output:
	// gable, pitch 26.6°, eave 3.0
	// plane falling to 180°, 3.0 to 5.0, [[[0 0] [12 0] [12 4] [0 4] [0 0]]]
	// plane falling to 0°, 3.0 to 5.0, [[[12 4] [12 8] [0 8] [0 4] [12 4]]]
}

func BenchmarkDescribe(b *testing.B) {
	for name, s := range map[string]shape{"n=hip": shapes()["hip"], "n=sawtooth": shapes()["sawtooth"]} {
		points := s.scan(0.15, 0.02, 1)
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := form.Describe(s.outline, points, measures(0.15, 0.02)); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(len(points))*float64(b.N)/b.Elapsed().Seconds(), "points/s")
		})
	}
}

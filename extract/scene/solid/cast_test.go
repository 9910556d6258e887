package solid

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"quoin/extract/scene/chance"
)

var plain = Surface{Class: Terrain, Reflectance: 100}

// field returns level terrain at z = 0 over 200 m.
func field() *Grid {
	return GridOf([2]Point{{-100, -100}, {100, 100}}, 1,
		func(Point) float64 { return 0 }, func(Point) Surface { return plain })
}

func down(x, y float64) Ray { return Ray{Vec{x, y, 50}, Vec{0, 0, -1}} }

func TestShapesMeetInClosedForm(t *testing.T) {
	roof := Surface{Class: Roof}
	square := Rectangle(Point{0, 0}, 4, 2, 0)
	for _, c := range []struct {
		name string
		body Body
		ray  Ray
		z    float64 // of the hit
	}{
		{"block from above", Block(square, 0, 3, roof), down(1, 0.5), 3},
		{"prism under a slope", Prism(square, Level(0), []Slope{{5, 0.5, 0}}, roof, roof), down(1, 0), 5.5},
		{"lower of two slopes", Prism(square, Level(0), []Slope{{5, 0, 1}, {5, 0, -1}}, roof, roof), down(0, 0.5), 4.5},
		{"ellipsoid", Ellipsoid(Vec{0, 0, 10}, Vec{3, 2, 4}, roof), down(1.5, 0), 10 + 4*math.Sqrt(0.75)},
		{"cone half way out", Cone(Point{0, 0}, 2, 1, 5, roof), down(1, 0), 3},
		{"cylinder lid", Cylinder(Point{0, 0}, 2, 0, 6, roof, roof), down(1, 1), 6},
		{"level rod", Rod(Vec{-5, 0, 7}, Vec{5, 0, 7}, 0.5, roof), down(2, 0.3), 7 + 0.4},
		{"box side at 45 degrees", Block(square, 0, 3, roof), Ray{Vec{-4, 0, 4}, Vec{1, 0, -1}.Unit()}, 2},
		{"cone from the side", Cone(Point{0, 0}, 2, 1, 5, roof), Ray{Vec{-10, 0, 3}, Vec{1, 0, 0}}, 3},
		{"cylinder side", Cylinder(Point{0, 0}, 2, 0, 6, roof, roof), Ray{Vec{-5, 0, 5}, Vec{1, 0, -1}.Unit()}, 2},
	} {
		t.Run(c.name, func(t *testing.T) {
			w := NewWorld(field(), []Body{c.body})
			hit, ok := w.Look(c.ray, 1, 1000)
			if !ok || hit.Object == Ground {
				t.Fatalf("met %+v, want the body", hit)
			}
			if z := c.ray.At(hit.T).Z; math.Abs(z-c.z) > 1e-9 {
				t.Errorf("met it at z = %.9f, want %.9f", z, c.z)
			}
			if hit.Normal.Dot(c.ray.Dir) > 0 || math.Abs(hit.Normal.Length()-1) > 1e-9 {
				t.Errorf("normal %v does not face the ray", hit.Normal)
			}
		})
	}
}

func TestConeSideIsMetWhereItIs(t *testing.T) {
	w := NewWorld(field(), []Body{Cone(Point{0, 0}, 2, 1, 5, plain)})
	hit, _ := w.Look(Ray{Vec{-10, 0, 3}, Vec{1, 0, 0}}, 1, 100)
	if want := 9.0; math.Abs(hit.T-want) > 1e-9 { // radius 1 at half the height
		t.Errorf("met the cone after %.6f m, want %g", hit.T, want)
	}
}

func TestTerrainIsTheTriangles(t *testing.T) {
	bumpy := func(p Point) float64 { return 3*math.Sin(p.X/4)*math.Cos(p.Y/5) + 0.2*p.X }
	g := GridOf([2]Point{{-20, -20}, {20, 20}}, 0.5, bumpy, func(Point) Surface { return plain })
	rapid.Check(t, func(t *rapid.T) {
		o := Vec{rapid.Float64Range(-15, 15).Draw(t, "x"), rapid.Float64Range(-15, 15).Draw(t, "y"), 40}
		lean := rapid.Float64Range(0, 1).Draw(t, "lean")
		s, c := math.Sincos(rapid.Float64Range(0, 6.28).Draw(t, "heading"))
		r := Ray{o, Vec{lean * c, lean * s, -1}.Unit()}
		// March in millimetres: the first step below the surface.
		want := math.Inf(1)
		for d := 28 / -r.Dir.Z; d < 80; d += 0.002 {
			p := r.At(d)
			if math.Abs(p.X) > 20 || math.Abs(p.Y) > 20 {
				break
			}
			if p.Z < g.Elevation(Point{p.X, p.Y}) {
				want = d
				break
			}
		}
		hit, ok := g.meet(r, 200)
		if ok != !math.IsInf(want, 1) {
			t.Fatalf("met terrain: %v, marching says %v", ok, !ok)
		}
		if ok && math.Abs(hit.T-want) > 0.0021 {
			t.Fatalf("met terrain after %.4f m, marching says %.4f", hit.T, want)
		}
	})
}

func TestTerrainFromBesideTheGrid(t *testing.T) {
	r := Ray{Vec{-140, 0, 50}, Vec{1, 0, -1}.Unit()}
	hit, ok := field().meet(r, 1000)
	if !ok || math.Abs(r.At(hit.T).X+90) > 1e-9 {
		t.Errorf("ray from beside the grid met %+v", hit)
	}
	if _, ok := field().meet(Ray{Vec{-200, 0, 50}, Vec{0, 0, -1}}, 1000); ok {
		t.Error("a ray beside the grid met it")
	}
}

func TestHierarchyEqualsBruteForce(t *testing.T) {
	dice := chance.New(5)
	var bodies []Body
	for i := range 200 {
		p := Point{dice.Between(-40, 40), dice.Between(-40, 40)}
		b := Block(Rectangle(p, dice.Between(0.5, 9), dice.Between(0.5, 6), dice.Between(0, 6)), -1, dice.Between(0.5, 12), plain)
		if i%3 == 0 {
			b = Ellipsoid(p.Up(dice.Between(0, 9)), Vec{2, 1, 3}, plain)
		}
		b.Object = int32(i)
		bodies = append(bodies, b)
	}
	w := NewWorld(field(), bodies)
	everything := make([]int32, len(bodies))
	for i := range everything {
		everything[i] = int32(i)
	}
	for range 3000 {
		r := Ray{
			Vec{dice.Between(-50, 50), dice.Between(-50, 50), dice.Between(5, 40)},
			Vec{dice.Between(-1, 1), dice.Between(-1, 1), dice.Between(-1, -0.1)}.Unit(),
		}
		got, gotOK := w.Look(r, 1, 500)
		want, wantOK := w.Cast(r, everything, 1, 500)
		if gotOK != wantOK || got.T != want.T || got.Object != want.Object {
			t.Fatalf("ray %v: hierarchy met %+v, all bodies %+v", r, got, want)
		}
	}
}

// A beam may not lose a body that any of its rays meets.
func TestGatherKeepsTheWholeBeam(t *testing.T) {
	b := Block(Rectangle(Point{5, 5}, 2, 2, 0.3), 0, 4, plain)
	w := NewWorld(field(), []Body{b})
	r := down(3.4, 5)
	if found := w.Gather(r, 0, 100, nil); len(found) != 0 {
		t.Errorf("a thin ray beside the box gathers %v", found)
	}
	if found := w.Gather(r, 0.6, 100, nil); len(found) != 1 {
		t.Errorf("a beam of 0.6 m that touches the box gathers %v", found)
	}
}

// Light through foliage of many clumps falls as Beer and Lambert say: with
// rates even between half and one and a half times the mean and a share of
// gaps, each clump of size v lets gap + (1−gap)·∫exp(−rate·x·v)dx through.
func TestFoliageDims(t *testing.T) {
	const rate, voxel, gap, length = 0.8, 0.5, 0.4, 4.0
	f := Foliage{Rate: rate, Voxel: voxel, Gap: gap, Key: 9}
	one := gap + (1-gap)*(math.Exp(-0.5*rate*voxel)-math.Exp(-1.5*rate*voxel))/(rate*voxel)
	want := math.Pow(one, length/voxel)
	dice := chance.New(1)
	const n = 40000
	through := 0.0
	for range n {
		r := Ray{Vec{voxel * math.Floor(dice.Between(-4000, 4000)), voxel * math.Floor(dice.Between(-4000, 4000)), length}, Vec{0, 0, -1}}
		if _, stopped := f.stop(r, 0, length, dice.Exponential()); !stopped {
			through++
		}
	}
	if got := through / n; math.Abs(got-want) > 5*math.Sqrt(want*(1-want)/n) {
		t.Errorf("%.4f of the light comes through, want %.4f", got, want)
	}
}

func TestFoliageStandsStill(t *testing.T) {
	f := Foliage{Rate: 1, Voxel: 0.3, Gap: 0.5, Key: 2}
	r := Ray{Vec{3.3, 4.4, 10}, Vec{0.1, 0.2, -1}.Unit()}
	a, okA := f.stop(r, 0, 20, 0.5)
	b, okB := f.stop(r, 0, 20, 0.5)
	if a != b || okA != okB {
		t.Error("one ray met two different plants")
	}
	if deeper, _ := f.stop(r, 0, 20, 0.9); deeper <= a {
		t.Errorf("a depth of 0.9 stops after %.3f m, one of 0.5 after %.3f", deeper, a)
	}
}

func TestEmptyWorld(t *testing.T) {
	w := NewWorld(field(), nil)
	if hit, ok := w.Look(down(0, 0), 1, 100); !ok || hit.Object != Ground {
		t.Errorf("met %+v, want the ground", hit)
	}
	if _, ok := w.Look(Ray{Vec{0, 0, 5}, Vec{0, 0, 1}}, 1, 100); ok {
		t.Error("a ray into the sky met something")
	}
}

func BenchmarkCast(b *testing.B) {
	dice := chance.New(5)
	var bodies []Body
	for range 1000 {
		p := Point{dice.Between(-90, 90), dice.Between(-90, 90)}
		bodies = append(bodies, Block(Rectangle(p, 6, 4, dice.Between(0, 6)), -1, 5, plain))
	}
	w := NewWorld(field(), bodies)
	r := Ray{Vec{-20, 3, 60}, Vec{0.4, 0.1, -1}.Unit()}
	found := w.Gather(r, 0.05, 200, nil)
	b.ReportAllocs()
	for b.Loop() {
		found = w.Gather(r, 0.05, 200, found[:0])
		w.Cast(r, found, 1, 200)
	}
}

package house

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"quoin/extract/scene/chance"
	"quoin/extract/scene/solid"
)

var look = Look{
	Roof: solid.Surface{Class: solid.Roof, Reflectance: 100}, Wall: solid.Surface{Class: solid.Wall, Reflectance: 100},
	Trim: solid.Surface{Class: solid.Roof, Reflectance: 100},
}

// frame is an arbitrary place and heading.
var frame = Frame{Origin: solid.Point{X: 7, Y: -3}, Heading: 0.4, Ground: 10}

func design(kind RoofKind) Design {
	return Design{Roof: kind, Pitch: 0.6, Eave: 4, Look: look}
}

func build(t *testing.T, d Design, wings ...Wing) *Building {
	t.Helper()
	b, err := Build("B1", "house", d.Sections(frame, wings...))
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// A roof of overhang o around walls L by W covers 2·o·(L+W) + 4·o² more than
// they do: 21 m² for 12 m by 8 m and o = 0.5 m (by hand).
func TestOverhangAddsArea(t *testing.T) {
	d := design(Hip)
	d.Overhang = 0.38
	d.Gutter = 0.12
	b := build(t, d, Plain(12, 8)...)
	if got := b.RoofEdge.Area(); math.Abs(got-117) > 1e-6 {
		t.Errorf("the roof edge holds %.6f m², want 117", got)
	}
	if got := b.WallLine.Area(); math.Abs(got-96) > 1e-6 {
		t.Errorf("the wall line holds %.6f m², want 96", got)
	}
}

func TestPlansHaveTheirAreaAndCorners(t *testing.T) {
	for _, c := range []struct {
		name    string
		wings   []Wing
		area    float64
		corners []int // by ring
	}{
		{"rectangle", Plain(12, 8), 96, []int{4}},
		{"L", L(14, 8, 6, 5), 14*8 + 6*5, []int{6}},
		{"T", T(15, 8, 6, 4), 15*8 + 6*4, []int{8}},
		{"U", U(16, 8, 5, 4), 16*8 + 2*5*4, []int{8}},
		{"cross", Cross(18, 8, 6, 5), 18*8 + 2*6*5, []int{12}},
		{"comb", Comb(26, 7, 5, 6, 3), 26*7 + 3*5*6, []int{12}},
		{"court", Court(26, 24, 7), 26*24 - 12*10, []int{4, 4}},
	} {
		t.Run(c.name, func(t *testing.T) {
			b := build(t, design(Gable), c.wings...)
			if got := b.RoofEdge.Area(); math.Abs(got-c.area) > 1e-6 {
				t.Errorf("area %.6f m², want %g", got, c.area)
			}
			if len(b.RoofEdge) != len(c.corners) {
				t.Fatalf("%d rings, want %d", len(b.RoofEdge), len(c.corners))
			}
			for i, n := range c.corners {
				if len(b.RoofEdge[i]) != n {
					t.Errorf("ring %d has %d corners, want %d", i, len(b.RoofEdge[i]), n)
				}
				if (ringArea(b.RoofEdge[i]) > 0) != (i == 0) {
					t.Errorf("ring %d runs the wrong way", i)
				}
			}
		})
	}
}

func TestRidges(t *testing.T) {
	tan := math.Tan(0.6)
	for _, c := range []struct {
		kind  RoofKind
		above float64 // of the ridge above the eave, for walls 12 by 8, no overhang
	}{
		{Flat, 0},
		{Shed, 8 * tan},
		{Gable, 4 * tan},
		{Hip, 4 * tan},
		{Mansard, mansardBreak + (4-mansardBreak/mansardTan)*tan},
	} {
		b := build(t, design(c.kind), Plain(12, 8)...)
		if got := b.Ridge - b.Eave; math.Abs(got-c.above) > 1e-9 {
			t.Errorf("%s: the ridge is %.6f m above the eave, want %.6f", c.kind, got, c.above)
		}
	}
}

// onGround returns the world of one building on level ground at elevation 10.
func onGround(b *Building) *solid.World {
	ground := solid.GridOf([2]solid.Point{{X: -60, Y: -60}, {X: 60, Y: 60}}, 2,
		func(solid.Point) float64 { return 10 }, func(solid.Point) solid.Surface { return solid.Surface{Class: solid.Terrain} })
	return solid.NewWorld(ground, b.Bodies)
}

// drop returns what a ray from above meets, and its elevation.
func drop(w *solid.World, p solid.Point) (solid.Hit, float64) {
	r := solid.Ray{Origin: p.Up(100), Dir: solid.Vec{Z: -1}}
	hit, _ := w.Look(r, 1, 200)
	return hit, r.At(hit.T).Z
}

// all returns one of each sort of building, with eaves and gutters.
func all(t *testing.T) map[string]*Building {
	t.Helper()
	d := design(Gable)
	d.Overhang, d.Verge, d.Gutter = 0.4, 0.3, 0.12
	flat := design(Flat)
	flat.Parapet = 0.7
	round := Round{ID: "B1", Centre: frame.Origin, Radius: 4, Overhang: 0.3, Base: 8, Eave: 15, Top: 18, Look: look}
	dome := round
	dome.Dome = true
	cut := Region{
		{frame.At(-9, -6), frame.At(9, -6), frame.At(9, 1), frame.At(3, 6), frame.At(-9, 6)},
		{frame.At(-3, -2), frame.At(-3, 2), frame.At(1, 2), frame.At(1, -2)},
	}
	free, err := Free{ID: "B1", Walls: cut, Overhang: 0.3, Roof: Gable, Pitch: 0.4, Base: 8, Eave: 14, Look: look}.Build()
	if err != nil {
		t.Fatal(err)
	}
	main := build(t, design(Hip), Plain(12, 8)...)
	tower := Round{ID: "B1", Centre: frame.At(6, 4), Radius: 2, Base: 8, Eave: 17, Top: 19, Look: look}.Build()
	merged, err := Merge(main, tower)
	if err != nil {
		t.Fatal(err)
	}
	hip := d
	hip.Roof = Hip
	mansard := d
	mansard.Roof = Mansard
	return map[string]*Building{
		"gable": build(t, d, Plain(12, 8)...), "hip": build(t, hip, Plain(12, 8)...), "L": build(t, d, L(14, 8, 6, 5)...),
		"mansard": build(t, mansard, Plain(12, 8)...), "U hipped": build(t, hip, U(16, 8, 5, 4)...),
		"cross": build(t, d, Cross(18, 8, 6, 5)...), "court": build(t, d, Court(26, 24, 7)...),
		"parapet": build(t, flat, Plain(12, 8)...), "tower": round.Build(), "dome": dome.Build(), "free": free,
		"vault": Vault("B1", frame, 20, 10, 5, 3, look), "with a tower": merged,
	}
}

// The truth is what rays see: a millimetre inside the roof edge they meet the
// building, as far outside the ground. Circles are followed by chords, which
// are up to 3 mm off.
func TestRaysAgreeWithTheRoofEdge(t *testing.T) {
	for name, b := range all(t) {
		t.Run(name, func(t *testing.T) {
			w := onGround(b)
			off := 0.001
			if len(b.Arcs) > 0 {
				off = 0.004
			}
			for _, ring := range b.RoofEdge {
				for i, p := range ring {
					d := ring[(i+1)%len(ring)].Sub(p)
					in := solid.Point{X: -d.Y, Y: d.X}.Scale(off / d.Length())
					for _, u := range []float64{0.1, 0.37, 0.5, 0.82} {
						at := p.Add(d.Scale(u))
						if hit, z := drop(w, at.Add(in)); hit.Object == solid.Ground {
							t.Fatalf("inside side %d at %.2f: ray meets the ground at %.2f", i, u, z)
						}
						if hit, z := drop(w, at.Sub(in)); hit.Object != solid.Ground {
							t.Fatalf("outside side %d at %.2f: ray meets the building at %.2f", i, u, z)
						}
					}
				}
			}
		})
	}
}

func TestRaysAgreeWithTheRoofPlanes(t *testing.T) {
	dice := chance.New(4)
	for _, name := range []string{"gable", "hip", "mansard", "L", "U hipped", "cross"} {
		b := all(t)[name]
		w := onGround(b)
		for range 400 {
			p := frame.At(dice.Between(-9, 9), dice.Between(-9, 9))
			want, ok := b.RoofAt(p)
			if !ok {
				continue
			}
			// A section's eave may reach over the lower part of another.
			if _, z := drop(w, p); math.Abs(z-want) > 1e-9 && z < want {
				t.Fatalf("%s: ray meets %.6f, the planes are at %.6f", name, z, want)
			}
		}
	}
}

// Nothing of a roof is above its stated ridge.
func TestRidgeIsTheHighest(t *testing.T) {
	dice := chance.New(6)
	for name, b := range all(t) {
		w, top := onGround(b), 0.0
		for range 4000 {
			_, z := drop(w, frame.At(dice.Between(-14, 14), dice.Between(-14, 14)))
			top = math.Max(top, z)
		}
		if top > b.Ridge+1e-9 || top < b.Ridge-0.6 {
			t.Errorf("%s: rays find %.3f as its highest, the truth says %.3f", name, top, b.Ridge)
		}
	}
}

func TestEdgeElevation(t *testing.T) {
	d := design(Gable)
	d.Overhang, d.Verge = 0.5, 0.3
	b := build(t, d, Plain(12, 8)...)
	for _, p := range b.RoofEdge[0] {
		if z := b.EdgeAt(p); math.Abs(z-b.Eave) > 1e-6 {
			t.Errorf("corner %v is at %.4f, want the eave at %.4f", p, z, b.Eave)
		}
	}
	// Half way along the gable end is the ridge.
	if z := b.EdgeAt(frame.At(6.3, 0)); math.Abs(z-b.Ridge) > 1e-6 {
		t.Errorf("the gable's top is at %.4f, want the ridge at %.4f", z, b.Ridge)
	}
}

// The elevation told of a corner is what a ray meets five millimetres inside
// it, but for the slope of the roof over that distance.
func TestCornersAreWhereRaysMeetThem(t *testing.T) {
	const inside = 0.005
	for name, b := range all(t) {
		if len(b.Arcs) > 0 || name == "vault" {
			continue // they rise upright from the eave
		}
		w := onGround(b)
		for k, ring := range b.RoofEdge {
			for i, p := range ring {
				before, after := ring[(i+len(ring)-1)%len(ring)], ring[(i+1)%len(ring)]
				u, v := p.Sub(before), after.Sub(p)
				in := (solid.Point{X: -u.Y, Y: u.X}).Scale(inside / u.Length()).Add(solid.Point{X: -v.Y, Y: v.X}.Scale(inside / v.Length()))
				_, z := drop(w, p.Add(in))
				if off := z - b.EdgeAt(p); off < -0.7*inside-1e-3 || off > 2.75*inside+1e-3 {
					t.Errorf("%s: corner %d of ring %d is told at %.3f, a ray meets %.3f", name, i, k, b.EdgeAt(p), z)
				}
			}
		}
	}
}

func TestPiecesCoverTheRegion(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		// A star about the origin with a square hole.
		n := rapid.IntRange(5, 14).Draw(t, "n")
		var ring []solid.Point
		for i := range n {
			s, c := math.Sincos(2 * math.Pi * float64(i) / float64(n))
			r := rapid.Float64Range(5, 12).Draw(t, "r")
			ring = append(ring, solid.Point{X: r * c, Y: r * s})
		}
		hole := solid.Rectangle(solid.Point{}, 1.5, 1, rapid.Float64Range(0, 3).Draw(t, "turn"))
		hole[1], hole[3] = hole[3], hole[1]
		region := Region{ring, hole}
		sum := 0.0
		for _, piece := range pieces(region) {
			a := ringArea(piece)
			if a < 0 {
				t.Fatalf("piece %v runs the wrong way", piece)
			}
			for i, p := range piece {
				q, r := piece[(i+1)%len(piece)], piece[(i+2)%len(piece)]
				if q.Sub(p).Cross(r.Sub(q)) < -1e-9 {
					t.Fatalf("piece %v is not convex", piece)
				}
			}
			sum += a
		}
		if math.Abs(sum-region.Area()) > 1e-6 {
			t.Fatalf("pieces hold %.6f m², the region %.6f", sum, region.Area())
		}
	})
}

func TestCircleHasItsArea(t *testing.T) {
	if got, want := (Region{circle(frame.Origin, 3)}).Area(), math.Pi*9; math.Abs(got-want) > 1e-9 {
		t.Errorf("area %.9f, want %.9f", got, want)
	}
}

func TestBuildRefusesTwoPieces(t *testing.T) {
	wings := []Wing{{Length: 5, Width: 5}, {U: 20, Length: 5, Width: 5}}
	if _, err := Build("B9", "house", design(Gable).Sections(frame, wings...)); err == nil {
		t.Error("two houses apart were built as one")
	}
}

func TestFittingsStayOnTheRoof(t *testing.T) {
	b := build(t, design(Gable), Plain(12, 8)...)
	before := b.RoofEdge.Area()
	bodies := len(b.Bodies)
	b.Chimney(frame.At(2, 0.4), 0.7, 0, 1.5, look.Wall)
	b.Panels(frame.At(0, 2), 4, 2, frame.Heading, 0.1, look.Roof)
	b.Dormer(frame.At(-2, -2), 2, 2, frame.Heading-math.Pi/2, 1.2, look)
	b.Machine(frame.At(40, 40), 1, 1, 0, 1, look.Wall) // beside the roof: nothing to stand on
	if len(b.Bodies) != bodies+4 {
		t.Errorf("%d bodies were added, want 4", len(b.Bodies)-bodies)
	}
	if b.RoofEdge.Area() != before {
		t.Error("fittings changed the roof edge")
	}
	ridge := b.Ridge
	if _, z := drop(onGround(b), frame.At(2, 0.4)); math.Abs(z-b.Highest) > 1e-9 || b.Highest <= ridge {
		t.Errorf("the chimney ends at %.3f, highest is %.3f", z, b.Highest)
	}
	// The panel is parallel to the roof, a hand above it.
	p := frame.At(0, 2)
	roof, _ := b.RoofAt(p)
	if _, z := drop(onGround(b), p); math.Abs(z-roof-0.1) > 1e-9 {
		t.Errorf("the panel is %.4f m above the roof, want 0.1", z-roof)
	}
}

// Eaves of 0.4 m close a recess 0.7 m wide, which is refused; those of 0.3 m
// leave it open.
func TestFreeRefusesClosedRecesses(t *testing.T) {
	notched := Region{{{X: 0, Y: 0}, {X: 10, Y: 0}, {X: 10, Y: 8}, {X: 5.7, Y: 8}, {X: 5.7, Y: 6}, {X: 5, Y: 6}, {X: 5, Y: 8}, {X: 0, Y: 8}}}
	for _, c := range []struct {
		overhang float64
		ok       bool
	}{{0.3, true}, {0.4, false}} {
		_, err := Free{ID: "B1", Walls: notched, Overhang: c.overhang, Roof: Flat, Eave: 5, Look: look}.Build()
		if (err == nil) != c.ok {
			t.Errorf("overhang %g: error %v", c.overhang, err)
		}
	}
	backwards := Region{{{X: 0, Y: 0}, {X: 0, Y: 8}, {X: 10, Y: 8}, {X: 10, Y: 0}}}
	if _, err := (Free{ID: "B1", Walls: backwards, Roof: Flat, Eave: 5, Look: look}).Build(); err == nil {
		t.Error("a clockwise plan was built")
	}
}

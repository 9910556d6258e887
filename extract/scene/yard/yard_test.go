package yard

import (
	"math"
	"testing"

	"quoin/extract/scene/chance"
	"quoin/extract/scene/solid"
)

// made returns one of each thing, standing at the origin on ground at 5 m.
func made() []Thing {
	dice := chance.New(1)
	p := solid.Point{}
	plan := solid.Rectangle(p, 8, 1, 0.3)
	from, to := solid.Point{X: -5}, solid.Point{X: 5, Y: 1}
	return []Thing{
		Broadleaf(p, 5, 9, 3, dice), Conifer(p, 5, 14, 2.5, dice), Shrub(p, 5, 1.2, 0.8, dice), Hedge(plan, 5, 1.8, dice),
		Car(p, 5, 0.4, dice), Truck(p, 5, 0.4, dice), Container(p, 5, 0.4, dice),
		Fence(from, to, [2]float64{5, 5}, 1.8), Wall(from, to, [2]float64{5, 5}, 2.2, 0.4),
		Tent(p, 5, 0.4, 8, 5), Bridge(from, to, [2]float64{5, 5}, 4), Pool(p, 5, 2.4, 1.1), Crane(p, 5, 0.4, 20, 15, dice),
	}
}

func ground() *solid.Grid {
	return solid.GridOf([2]solid.Point{{X: -40, Y: -40}, {X: 40, Y: 40}}, 2,
		func(solid.Point) float64 { return 5 }, func(solid.Point) solid.Surface { return solid.Surface{Class: solid.Terrain} })
}

// A thing is seen inside its outline, nowhere beyond, and not above its height.
func TestThingsKeepToTheirOutlines(t *testing.T) {
	for _, thing := range made() {
		t.Run(thing.Kind, func(t *testing.T) {
			w := solid.NewWorld(ground(), thing.Bodies)
			dice := chance.New(2)
			seen, top := 0, 0.0
			for range 6000 {
				p := solid.Point{X: dice.Between(-20, 20), Y: dice.Between(-20, 20)}
				r := solid.Ray{Origin: p.Up(100), Dir: solid.Vec{Z: -1}}
				hit, _ := w.Look(r, dice.Exponential(), 200)
				if hit.Object == solid.Ground {
					continue
				}
				seen++
				top = math.Max(top, r.At(hit.T).Z-5)
				if far := beyond(thing.Outline, p); far > 0.07 {
					t.Fatalf("seen at %v, %.2f m beyond its outline", p, far)
				}
			}
			if seen == 0 {
				t.Error("not seen at all")
			}
			if top > thing.Height+0.01 && thing.Kind != "bridge" || top < 0.4*thing.Height {
				t.Errorf("seen up to %.2f m, its height is %.2f", top, thing.Height)
			}
		})
	}
}

// beyond returns how far p is outside a convex outline; chords of round things
// lie a little inside.
func beyond(outline []solid.Point, p solid.Point) float64 {
	far := 0.0
	for i, a := range outline {
		d := outline[(i+1)%len(outline)].Sub(a)
		far = math.Max(far, -d.Cross(p.Sub(a))/d.Length())
	}
	return far
}

// ISO 668 containers are 2.438 m wide and 6.058 or 12.192 m long.
func TestContainersAreISO(t *testing.T) {
	dice := chance.New(8)
	for range 20 {
		c := Container(solid.Point{}, 0, 0.7, dice)
		l, w := c.Outline[1].Sub(c.Outline[0]).Length(), c.Outline[2].Sub(c.Outline[1]).Length()
		if math.Abs(w-2.438) > 1e-9 || math.Abs(l-6.058) > 1e-9 && math.Abs(l-12.192) > 1e-9 {
			t.Errorf("a container of %.3f by %.3f m", l, w)
		}
		if math.Abs(c.Height-2.591) > 1e-9 && math.Abs(c.Height-5.182) > 1e-9 {
			t.Errorf("a container %.3f m high", c.Height)
		}
	}
}

// A wire's parabola sags by a thirtieth of its span in the middle and ends at
// the masts.
func TestWiresSag(t *testing.T) {
	line := PowerLine([]solid.Vec{{X: -30, Z: 5}, {X: 30, Z: 5}}, 10)
	lowest, highest := math.Inf(1), math.Inf(-1)
	for _, b := range line.Bodies {
		if b.Quadric.Surface.Class == solid.Wire {
			lowest, highest = min(lowest, b.Box.Min.Z), max(highest, b.Box.Max.Z)
		}
	}
	if want := 5 + 10 - 0.2 - 2 - 0.012; math.Abs(lowest-want) > 1e-9 {
		t.Errorf("the wire hangs down to %.3f, want %.3f", lowest, want)
	}
	if want := 5 + 10 - 0.2 + 0.012; math.Abs(highest-want) > 1e-9 {
		t.Errorf("the wire starts at %.3f, want %.3f", highest, want)
	}
}

// A clipped hedge looks smooth: from above most of its light comes back from
// its uppermost decimetres; a tree's crown does not.
func TestHedgesAreSmooth(t *testing.T) {
	spread := func(thing Thing) float64 {
		w := solid.NewWorld(ground(), thing.Bodies)
		dice := chance.New(2)
		var sum, square, n float64
		for range 4000 {
			p := solid.Point{X: dice.Between(-2, 2), Y: dice.Between(-0.3, 0.3)}
			r := solid.Ray{Origin: p.Up(100), Dir: solid.Vec{Z: -1}}
			if hit, _ := w.Look(r, dice.Exponential(), 200); hit.Object != solid.Ground {
				z := r.At(hit.T).Z
				sum, square, n = sum+z, square+z*z, n+1
			}
		}
		return math.Sqrt(square/n - sum*sum/n/n)
	}
	dice := chance.New(3)
	if got := spread(Hedge(solid.Rectangle(solid.Point{}, 8, 1, 0), 5, 2, dice)); got > 0.15 {
		t.Errorf("a hedge's top deviates by %.3f m", got)
	}
	if got := spread(Broadleaf(solid.Point{}, 5, 9, 3, dice)); got < 0.5 {
		t.Errorf("a tree's crown deviates by %.3f m only", got)
	}
}

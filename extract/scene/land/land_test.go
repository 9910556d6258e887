package land

import (
	"math"
	"testing"

	"quoin/extract/scene/chance"
	"quoin/extract/scene/house"
	"quoin/extract/scene/solid"
)

func ramp() *Land {
	return New(func(p solid.Point) float64 { return 0.2 * p.X }, solid.Surface{Red: 1})
}

func square(x, y, size float64) house.Region {
	return house.Region{solid.Rectangle(solid.Point{X: x, Y: y}, size, size, 0)}
}

func TestEarthworks(t *testing.T) {
	l := ramp()
	l.Level(square(0, 0, 10), 1, 2)
	l.Heap(square(30, 0, 4), 3, 1)
	for _, c := range []struct{ x, z float64 }{
		{0, 1}, {4.9, 1}, {7.01, 1.402}, {20, 4}, // level, beyond the bank
		{6, (1.2 + 1) / 2},           // half way down the bank
		{30, 9}, {32.5, 6.5 + 3.0/2}, // on the heap, half way down it
	} {
		if got := l.Elevation(solid.Point{X: c.x}); math.Abs(got-c.z) > 1e-9 {
			t.Errorf("at %g m the land is at %.4f, want %.4f", c.x, got, c.z)
		}
	}
}

func TestLaterWorksChangeEarlierOnes(t *testing.T) {
	l := ramp()
	l.Level(square(0, 0, 20), 5, 1)
	l.Heap(square(0, 0, 4), -2, 0.1)
	if got := l.Elevation(solid.Point{}); got != 3 {
		t.Errorf("the pit is at %g, want 3", got)
	}
}

func TestTheLastCoverIsSeen(t *testing.T) {
	l := ramp()
	a, b := solid.Surface{Red: 2}, solid.Surface{Red: 3}
	l.Lay(a, square(0, 0, 40))
	l.Lay(b, square(10, 0, 4), square(-10, 0, 4))
	for _, c := range []struct {
		x   float64
		red uint8
	}{{0, 2}, {10, 3}, {-11, 3}, {19, 2}, {25, 1}} {
		if got := l.Surface(solid.Point{X: c.x}); got.Red != c.red {
			t.Errorf("at %g m: surface %d, want %d", c.x, got.Red, c.red)
		}
	}
}

// The index answers as all circles together would.
func TestFreeEqualsBruteForce(t *testing.T) {
	dice := chance.New(1)
	taken := NewTaken()
	for range 300 {
		taken.Circle(solid.Point{X: dice.Between(-90, 90), Y: dice.Between(-90, 90)}, dice.Between(0.2, 9))
	}
	for range 5000 {
		p, r := solid.Point{X: dice.Between(-100, 100), Y: dice.Between(-100, 100)}, dice.Between(0, 12)
		want := true
		for _, c := range taken.circles {
			want = want && p.Sub(c.at).Length() >= r+c.radius
		}
		if got := taken.Free(p, r); got != want {
			t.Fatalf("circle of %g at %v: free %v, want %v", r, p, got, want)
		}
	}
}

func TestRegionIsTaken(t *testing.T) {
	taken := NewTaken()
	taken.Region(square(0, 0, 20), 0.5)
	dice := chance.New(2)
	for range 500 {
		p := solid.Point{X: dice.Between(-10, 10), Y: dice.Between(-10, 10)}
		if taken.Free(p, 0.8) {
			t.Fatalf("%v is free inside the region", p)
		}
	}
	if !taken.Free(solid.Point{X: 14}, 3) {
		t.Error("a place beside the region is taken")
	}
}

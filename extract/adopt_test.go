package extract

import (
	"context"
	"math/rand/v2"
	"testing"

	"quoin/extract/cloud"
)

// A staged block is a flat roof of 10 m by 8 m at 6 m with ground around it, a
// return every quarter of a metre; what else stands there is added. Returns of
// class 6 are given to the building, those of class 1 are what the roof stage
// left out, those of class 5 are given to a second building.
type staged struct{ points []cloud.Point }

const given, leftOut, second = 6, 1, 5

func (s *staged) add(x, y, z float64, class uint8, number, returns int) {
	s.points = append(s.points, cloud.Pack(x, y, z, cloud.Attributes{
		Class: class, Return: uint8(number), Returns: uint8(returns), Time: float64(len(s.points)),
	}))
}

// plain adds roof and ground; lost says which roof returns are left out.
func (s *staged) plain(lost func(x, y float64) bool) {
	for i := range 80 {
		for k := range 72 {
			x, y := float64(i)/4-4.87, float64(k)/4-4.87
			switch {
			case x < 0 || x > 10 || y < 0 || y > 8:
				s.add(x, y, 0, leftOut, 1, 1)
			case lost(x, y):
				s.add(x, y, 6, leftOut, 1, 1)
			default:
				s.add(x, y, 6, given, 1, 1)
			}
		}
	}
}

// adopted returns the block and its surroundings after adopt.
func (s *staged) adopted(t *testing.T) (*surroundings, *drawing) {
	t.Helper()
	b, _ := cloud.NewBlock(cloud.Frame{Horizontal: 1, Vertical: 1}, s.points)
	b.HasTime, b.HasReturns = true, true
	sur := &surroundings{block: b, measures: quarterMetre, path: vertical{}, roofOf: make([]int32, b.Len()), hag: make([]float32, b.Len())}
	var roofs [2][]int32
	for i := range b.Points {
		sur.hag[i] = float32(b.Points[i].Up())
		sur.roofOf[i] = -1
		for number, class := range []uint8{given, second} {
			if b.Points[i].Class == class {
				sur.roofOf[i] = int32(number)
				roofs[number] = append(roofs[number], int32(i))
			}
		}
	}
	var all []*drawing
	for number, roof := range roofs {
		if len(roof) > 0 {
			all = append(all, &drawing{number: int32(number), shape: newRoofShape(b, roof, sur.measures, sur.margin())})
		}
	}
	if err := sur.adopt(context.Background(), all, DefaultOptions()); err != nil {
		t.Fatal(err)
	}
	return sur, all[0]
}

// share returns the share of the returns in a box, from a height up, that are
// of the roof.
func (s *surroundings) share(box cloud.Rect, from, to float64) float64 {
	n, roof := 0.0, 0.0
	for i := range s.block.In(box) {
		if z := s.block.Points[i].Up(); z < from || z > to {
			continue
		}
		n++
		if s.roofOf[i] == 0 {
			roof++
		}
	}
	return roof / n
}

// A façade return that passed for roof must not cost the corner beside it.
func TestCornerBesideFacadeReturnsIsAdopted(t *testing.T) {
	var s staged
	s.plain(func(x, y float64) bool { return x+y < 1.2 })
	for k := range 32 {
		for z := 1.0; z < 5.9; z += 0.23 {
			s.add(0.01, float64(k)/4+0.1, z, leftOut, 1, 1)
		}
	}
	for k := range 4 { // under the edge, close to the corner, taken for roof
		s.add(0.02, 0.12+float64(k)/4, 5.2, given, 1, 1)
	}
	sur, d := s.adopted(t)
	if got := sur.share(cloud.Rect{MinX: -0.5, MinY: -0.5, MaxX: 0.5, MaxY: 2}, 0.5, 5.5); got != 0 {
		t.Errorf("%.0f %% of the façade is roof", 100*got)
	}
	if got := sur.share(cloud.Rect{MinX: 0, MinY: 0, MaxX: 1.2, MaxY: 1.2}, 5.95, 7); got < 0.95 {
		t.Errorf("%.0f %% of the corner was adopted", 100*got)
	}
	for _, i := range d.shape.points {
		if sur.roofOf[i] != 0 {
			t.Fatal("the shape holds a return that is not the building's")
		}
	}
}

// What was taken from a house in a row for hanging under its roof goes back to it,
// not to the neighbour whose roof lies on the same plane.
func TestNeighbourDoesNotAdoptWhatHung(t *testing.T) {
	var s staged
	s.plain(func(_, _ float64) bool { return false })
	for i := range 40 {
		for k := range 32 {
			// The second house goes on at the height of the first, with a higher
			// part half a metre in from its long side.
			x, y, z := 10.13+float64(i)/4, float64(k)/4+0.13, 6.0
			if y > 0.5 {
				z = 6.45
			}
			s.add(x, y, z, second, 1, 1)
			s.add(x, 0.02, 5.5-float64(k)/10, leftOut, 1, 1)
		}
	}
	sur, _ := s.adopted(t)
	if got := sur.share(cloud.Rect{MinX: 10.05, MinY: 0.1, MaxX: 20, MaxY: 0.49}, 5.95, 6.05); got != 0 {
		t.Errorf("%.0f %% of the neighbour's edge went to the house beside it", 100*got)
	}
}

// The foot of a wall that stands on a roof has roof above, and nothing below.
func TestRoofBelowAParapetStays(t *testing.T) {
	var s staged
	s.plain(func(_, _ float64) bool { return false })
	for k := range 33 {
		s.add(5, float64(k)/4+0.03, 6.9, given, 1, 1)
	}
	sur, _ := s.adopted(t)
	if got := sur.share(cloud.Rect{MinX: 4, MinY: 0, MaxX: 6, MaxY: 8}, 5.9, 7); got != 1 {
		t.Errorf("%.0f %% of the roof is left", 100*got)
	}
}

func TestParapetIsAdoptedAndFoliageIsNot(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 1))
	var s staged
	s.plain(func(_, _ float64) bool { return false })
	for k := range 10 {
		s.add(0.1, 0.3+0.8*float64(k), 6.8+0.01*rng.NormFloat64(), leftOut, 1, 1)
	}
	for range 200 {
		s.add(9.4+rng.Float64(), 8*rng.Float64(), 6.2+1.4*rng.Float64(), leftOut, 1, 1)
	}
	sur, _ := s.adopted(t)
	if got := sur.share(cloud.Rect{MinX: -0.5, MinY: 0, MaxX: 0.5, MaxY: 8}, 6.5, 7); got != 1 {
		t.Errorf("%.0f %% of the parapet was adopted", 100*got)
	}
	if got := sur.share(cloud.Rect{MinX: 9.3, MinY: 0, MaxX: 10.5, MaxY: 8}, 6.15, 8); got > 0.1 {
		t.Errorf("%.0f %% of the foliage was adopted", 100*got)
	}
}

// Under a tree that hangs over an edge the roof stops pulses, beside it nothing
// does at its height.
func TestRoofUnderATreeIsAdopted(t *testing.T) {
	rng := rand.New(rand.NewPCG(2, 2))
	under := func(x, y float64) bool { return x > 8.8 && y > 2 && y < 6 }
	var s staged
	s.plain(under)
	for range 900 {
		x, y := 8.6+3*rng.Float64(), 2+4*rng.Float64()
		z := 3 + 6*rng.Float64()
		switch {
		case z > 6:
			s.add(x, y, z, leftOut, 1, 2)
		case x > 10: // branches beside the house, and the ground below them
			s.add(x, y, z, leftOut, 2, 2)
		}
	}
	sur, _ := s.adopted(t)
	if got := sur.share(cloud.Rect{MinX: 8.8, MinY: 2, MaxX: 10, MaxY: 6}, 5.99, 6.01); got < 0.8 {
		t.Errorf("%.0f %% of the roof under the tree was adopted", 100*got)
	}
	if got := sur.share(cloud.Rect{MinX: 10.1, MinY: 2, MaxX: 12, MaxY: 6}, 1, 10); got > 0.02 {
		t.Errorf("%.1f %% of the branches beside it were adopted", 100*got)
	}
}

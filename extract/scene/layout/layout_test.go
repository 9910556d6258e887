package layout

import (
	"math"
	"reflect"
	"testing"

	"quoin/extract/scene/house"
	"quoin/extract/scene/solid"
)

// Every kind can be laid out from any seed, with its buildings in the block,
// at least 6 m² large, clear of each other but for party walls, and with the
// ground below their eaves.
func TestKindsHold(t *testing.T) {
	for _, kind := range Kinds() {
		t.Run(kind.Name, func(t *testing.T) {
			for seed := range uint64(4) {
				s, err := Lay(kind, seed, kind.Extent)
				if err != nil {
					t.Fatalf("seed %d: %v", seed, err)
				}
				for i, b := range s.Buildings {
					checkBuilding(t, s, b)
					for _, c := range s.Buildings[:i] {
						checkApart(t, b, c)
					}
				}
			}
		})
	}
}

func checkBuilding(t *testing.T, s *Site, b *house.Building) {
	t.Helper()
	if a := b.RoofEdge.Area(); a < 6 || math.IsNaN(a) {
		t.Errorf("%s %s has %.2f m²", b.Kind, b.ID, a)
	}
	low, high := b.RoofEdge.Bounds()
	if low.X < s.Low.X || low.Y < s.Low.Y || high.X > s.High.X || high.Y > s.High.Y {
		t.Errorf("%s %s leaves the block: %v to %v", b.Kind, b.ID, low, high)
	}
	for _, p := range b.RoofEdge[0] {
		if gap := b.EdgeAt(p) - s.Elevation(p); gap < 0.1 || gap > 16 {
			t.Errorf("%s %s: the roof edge is %.2f m above the ground at %v", b.Kind, b.ID, gap, p)
		}
	}
	if b.Ridge < b.Eave || b.Highest < b.Ridge {
		t.Errorf("%s %s: eave %.2f, ridge %.2f, highest %.2f", b.Kind, b.ID, b.Eave, b.Ridge, b.Highest)
	}
}

// checkApart wants no corner or side's middle of one outline deeper than a
// rounding in the other.
func checkApart(t *testing.T, a, b *house.Building) {
	t.Helper()
	for _, pair := range [2][2]*house.Building{{a, b}, {b, a}} {
		for _, ring := range pair[0].RoofEdge {
			for i, p := range ring {
				middle := p.Add(ring[(i+1)%len(ring)]).Scale(0.5)
				for _, q := range []solid.Point{p, middle} {
					if pair[1].RoofEdge.Contains(q) && depth(pair[1].RoofEdge, q) > 1e-6 {
						t.Errorf("%s and %s overlap at %v", a.ID, b.ID, q)
						return
					}
				}
			}
		}
	}
}

// depth returns the distance of q from the nearest side.
func depth(r house.Region, q solid.Point) float64 {
	best := math.Inf(1)
	for _, ring := range r {
		for i, a := range ring {
			d := ring[(i+1)%len(ring)].Sub(a)
			u := min(max(q.Sub(a).Dot(d)/d.Dot(d), 0), 1)
			best = min(best, q.Sub(a.Add(d.Scale(u))).Length())
		}
	}
	return best
}

func TestSeedsMatter(t *testing.T) {
	kind := Kinds()[0]
	lay := func(seed uint64) *Site {
		s, err := Lay(kind, seed, kind.Extent)
		if err != nil {
			t.Fatal(err)
		}
		return s
	}
	a, b, c := lay(1), lay(1), lay(2)
	if !reflect.DeepEqual(a.Buildings, b.Buildings) || !reflect.DeepEqual(a.Things, b.Things) {
		t.Error("one seed gives two blocks")
	}
	if reflect.DeepEqual(a.Buildings, c.Buildings) {
		t.Error("two seeds give one block")
	}
}

func TestKindsCarryWhatTheyPromise(t *testing.T) {
	for _, c := range []struct {
		kind   string
		holds  func(s *Site) bool
		saying string
	}{
		{"forest", func(s *Site) bool { return len(s.Buildings) == 0 && count(s, "tree") > 80 }, "no building and many trees"},
		{"yard", func(s *Site) bool { return len(s.Buildings) == 2 && count(s, "truck")+count(s, "container") > 30 }, "two buildings among trucks and containers"},
		{"rows", func(s *Site) bool { return neighbours(s) >= 40 }, "party walls"},
		{"courts", func(s *Site) bool { return holes(s) >= 6 }, "courtyards"},
		{"fair", func(s *Site) bool {
			return count(s, "tent") >= 4 && count(s, "bridge") == 1 && count(s, "power line") == 1 && count(s, "fence") == 3
		}, "tents, a bridge, a power line, fences"},
		{"works", func(s *Site) bool { return count(s, "stockpile") >= 2 && count(s, "crane") == 1 }, "stockpiles and a crane"},
		{"hillside", func(s *Site) bool { return steepest(s) > 25 }, "slopes beyond 25 degrees"},
		{"halls", func(s *Site) bool { return longest(s) >= 90 }, "a hall of 90 m or more"},
	} {
		for _, kind := range Kinds() {
			if kind.Name != c.kind {
				continue
			}
			s, err := Lay(kind, 1, kind.Extent)
			if err != nil {
				t.Fatal(err)
			}
			if !c.holds(s) {
				t.Errorf("%s does not hold %s", c.kind, c.saying)
			}
		}
	}
}

func count(s *Site, kind string) (n int) {
	for _, t := range s.Things {
		if t.Kind == kind {
			n++
		}
	}
	return n
}

func neighbours(s *Site) (n int) {
	for _, b := range s.Buildings {
		n += len(b.Neighbours)
	}
	return n
}

func holes(s *Site) (n int) {
	for _, b := range s.Buildings {
		n += len(b.RoofEdge) - 1
	}
	return n
}

func longest(s *Site) (far float64) {
	for _, b := range s.Buildings {
		for _, p := range b.RoofEdge[0] {
			far = max(far, p.Sub(b.RoofEdge[0][0]).Length())
		}
	}
	return far
}

// steepest returns the land's largest slope in degrees.
func steepest(s *Site) (most float64) {
	for x := s.Low.X; x < s.High.X; x += 2 {
		for y := s.Low.Y; y < s.High.Y; y += 2 {
			rise := s.Relief(solid.Point{X: x, Y: y + 1}) - s.Relief(solid.Point{X: x, Y: y})
			most = max(most, math.Atan(math.Abs(rise))*180/math.Pi)
		}
	}
	return most
}

// The embedded plans have the areas and right angles of real houses.
func TestRealPlans(t *testing.T) {
	plans := realPlans()
	if len(plans) != 92 {
		t.Errorf("%d plans, want 92", len(plans))
	}
	var square, corners int
	for _, plan := range plans {
		if a := (house.Region{plan}).Area(); a < 10 || a > 1400 {
			t.Errorf("a plan of %.1f m²", a)
		}
		for i, q := range plan {
			a, b := q.Sub(plan[(i+len(plan)-1)%len(plan)]), plan[(i+1)%len(plan)].Sub(q)
			turn := math.Abs(math.Atan2(a.Cross(b), a.Dot(b))) * 180 / math.Pi
			if math.Abs(turn-90) < 3 {
				square++
			}
			corners++
		}
	}
	if share := float64(square) / float64(corners); share < 0.7 || share > 0.9 {
		t.Errorf("%.2f of the corners are square", share)
	}
}

// A larger block holds more of a suburb, in time that grows with it.
func TestSuburbFillsItsExtent(t *testing.T) {
	for _, kind := range Kinds() {
		if kind.Name != "suburb" {
			continue
		}
		s, err := Lay(kind, 3, [2]float64{500, 400})
		if err != nil {
			t.Fatal(err)
		}
		if n := len(s.Buildings); n < 300 || n > 700 {
			t.Errorf("%d buildings on 20 hectares", n)
		}
		for _, b := range s.Buildings {
			checkBuilding(t, s, b)
		}
	}
}

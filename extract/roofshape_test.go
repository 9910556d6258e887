package extract

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"quoin/extract/cloud"
	"quoin/extract/outline"
)

// gable returns a roof of 12 m by 8 m, eaves at 5 m along y = 0 and y = 8,
// ridge at 9 m, sampled every quarter of a metre, and ground around it.
func gable() (*cloud.Block, []int32) {
	var points []cloud.Point
	for i := range 160 {
		for k := range 160 {
			x, y := float64(i)/4-14+0.01, float64(k)/4-16+0.01
			z, class := 0.0, uint8(2)
			if x > 0 && x < 12 && y > 0 && y < 8 {
				z, class = 5+4-math.Abs(y-4), 6
			}
			points = append(points, cloud.Pack(x, y, z, cloud.Attributes{Class: class, Return: 1, Returns: 1, Time: float64(len(points))}))
		}
	}
	b, _ := cloud.NewBlock(cloud.Frame{Horizontal: 1, Vertical: 1}, points)
	b.HasTime, b.HasReturns = true, true
	var roof []int32
	for i := range b.Points {
		if b.Points[i].Class == 6 {
			roof = append(roof, int32(i))
		}
	}
	return b, roof
}

var quarterMetre = cloud.Measures{Density: 16, Spacing: 0.25, SigmaZ: 0.02, Sigma: 0.02}

func TestRoofIsCarriedOnAlongItsPlane(t *testing.T) {
	b, roof := gable()
	shape := newRoofShape(b, roof, quarterMetre, 4)
	for _, c := range []struct{ x, y, want float64 }{
		{6, 2, 7},        // on the roof
		{6, -0.5, 4.5},   // beyond the eave the roof goes on falling
		{6, 8.5, 4.5},    // on the other side too
		{-0.5, 2, 7},     // beyond the gable it keeps the height of its side
		{12.5, 6.5, 6.5}, // and of the other slope
	} {
		if got, ok := shape.height(c.x, c.y); !ok || math.Abs(got-c.want) > 0.02 {
			t.Errorf("height at %v, %v is %.3f, want %.3f", c.x, c.y, got, c.want)
		}
	}
	if _, ok := shape.height(6, -9); ok {
		t.Error("a height was given beyond the margin")
	}
}

// A plane is fitted within a metre, so that a corner in error far from the roof
// is given the height a metre beyond the eave, on both sides.
func TestCornersFarFromTheRoofKeepItsHeight(t *testing.T) {
	b, roof := gable()
	shape := newRoofShape(b, roof, quarterMetre, 4)
	for _, c := range []struct{ x, y, want float64 }{{6, -0.5, 4.5}, {6, -3.5, 4}, {6, 11.5, 4}} {
		if got := shape.elevation(c.x, c.y); math.Abs(got-c.want) > 0.3 {
			t.Errorf("corner at %v, %v: elevation %.3f, want %.3f", c.x, c.y, got, c.want)
		}
	}
}

func TestParapetIsCarriedOnLevel(t *testing.T) {
	b, roof := gable()
	for _, i := range roof {
		p := &b.Points[i]
		p.Z = 50000
		if p.East() < 0.3 {
			p.Z = 56000 // a parapet one point wide
		}
	}
	shape := newRoofShape(b, roof, quarterMetre, 4)
	if got, _ := shape.height(-0.5, 4); math.Abs(got-5.6) > 1e-3 {
		t.Errorf("the parapet is carried on to %.3f, want its own height, 5.6", got)
	}
}

func TestNearestAgainstAllPoints(t *testing.T) {
	b, roof := gable()
	shape := newRoofShape(b, roof, quarterMetre, 4)
	rapid.Check(t, func(t *rapid.T) {
		x, y := rapid.Float64Range(-3, 15).Draw(t, "x"), rapid.Float64Range(-3, 11).Draw(t, "y")
		best := math.Inf(1)
		for _, i := range roof {
			best = min(best, math.Hypot(b.Points[i].East()-x, b.Points[i].North()-y))
		}
		// The nearest occupied cell is nearest from the middle of a cell: a
		// point of another one can be nearer by a fraction of a cell.
		if k, d := shape.nearest(x, y); best < 3.9 && (k < 0 || d > best+0.1*shape.grid.Cell) {
			t.Fatalf("nearest to %v, %v is %.3f away, want %.3f", x, y, d, best)
		}
	})
}

// above is a sensor that stays where it is.
type above struct{ x, y, z float64 }

func (a above) At(uint16, uint64) (x, y, z float64, ok bool) { return a.x, a.y, a.z, true }

func (a above) Turning(uint16, uint64) bool { return false }

// TestRaysAreCarriedToTheRoofEdge has a sensor to the east of a flat roof: the
// ground it sees begins under the eave on the near side and far from the wall
// on the other, and in both cases the rays pass the roof's height at its edge.
// Worked by similar triangles (common practice, no source).
func TestRaysAreCarriedToTheRoofEdge(t *testing.T) {
	const eave, flying = 5.0, 65.0
	sensor := above{6 + 30, 4, flying}
	b, roof := gable()
	for _, i := range roof {
		b.Points[i].Z = eave / cloud.Step
	}
	s := &surroundings{block: b, measures: quarterMetre, path: sensor}
	shape := newRoofShape(b, roof, quarterMetre, s.margin())
	for _, edge := range []float64{0, 12} {
		// Where the ray over the roof's edge meets the ground.
		hit := sensor.x + (edge-sensor.x)*flying/(flying-eave)
		p := cloud.Pack(hit, 4, 0, cloud.Attributes{})
		o := outline.Observation{X: hit, Y: 4}
		z, near := shape.height(o.X, o.Y)
		if !s.pierce(&p, shape, &o, crossing{z, near, s.below()}) || math.Abs(o.X-edge) > 1e-3 || math.Abs(o.Y-4) > 1e-3 {
			t.Errorf("the ray to %.3f passes the roof's height at %.3f, %.3f, want %.3f, 4", hit, o.X, o.Y, edge)
		}
	}
	if hit := 6 + 30 + (0-36.0)*65/60; hit > -2.9 {
		t.Fatalf("the case shows nothing: the hidden strip ends at %.2f", hit)
	}
}

func TestObservationsOfAFlatRoof(t *testing.T) {
	b, roof := gable()
	s := &surroundings{block: b, measures: quarterMetre, path: vertical{}, roofOf: make([]int32, b.Len()), hag: make([]float32, b.Len())}
	for i := range s.roofOf {
		s.roofOf[i] = -1
		s.hag[i] = float32(b.Points[i].Up())
	}
	for _, i := range roof {
		s.roofOf[i] = 0
	}
	// One roof return at the eave has a second return on the ground.
	edge := roof[0]
	b.Points = append(b.Points[:0:0], b.Points...)
	split := b.Points[edge]
	first := cloud.Pack(split.East(), split.North(), split.Up(), cloud.Attributes{Return: 1, Returns: 2, Time: 1e6})
	second := cloud.Pack(split.East(), split.North()-0.01, 0, cloud.Attributes{Return: 2, Returns: 2, Time: 1e6})
	b.Points[edge] = first
	for i := range b.Points {
		if s.roofOf[i] < 0 && math.Abs(b.Points[i].East()-split.East()) < 0.2 && math.Abs(b.Points[i].North()-split.North()) < 0.4 {
			b.Points[i] = second
			break
		}
	}
	count := map[outline.Side]int{}
	for _, o := range s.observe(0, newRoofShape(b, roof, quarterMetre, s.margin())) {
		count[o.Side]++
		if inside := o.X > 0 && o.X < 12 && o.Y > 0 && o.Y < 8; inside != (o.Side != outline.Outside) {
			t.Fatalf("an observation at %.2f, %.2f is on side %d", o.X, o.Y, o.Side)
		}
	}
	if count[outline.Split] != 1 || count[outline.Inside] != len(roof)-1 || count[outline.Outside] < 1000 {
		t.Errorf("%d split, %d inside of %d, %d outside", count[outline.Split], count[outline.Inside], len(roof)-1, count[outline.Outside])
	}
}

func TestFitPlaneIsExactOnAPlane(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, g, h := rapid.Float64Range(-5, 5).Draw(t, "z"), rapid.Float64Range(-2, 2).Draw(t, "gx"), rapid.Float64Range(-2, 2).Draw(t, "gy")
		var points [][3]float64
		for i := range 9 {
			x, y := float64(i%3), float64(i/3)
			points = append(points, [3]float64{x, y, a + g*x + h*y})
		}
		z0, gx, gy, ok := fitPlane(points)
		if !ok || math.Abs(z0-a)+math.Abs(gx-g)+math.Abs(gy-h) > 1e-9 {
			t.Fatalf("got %v %v %v, want %v %v %v", z0, gx, gy, a, g, h)
		}
	})
	line := [][3]float64{{0, 0, 1}, {1, 1, 2}, {2, 2, 3}}
	if _, _, _, ok := fitPlane(line); ok {
		t.Error("a plane was fitted to points on a line")
	}
}

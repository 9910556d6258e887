package extract

import (
	"testing"

	"quoin/extract/cloud"
	"quoin/extract/outline"
)

// A flat roof at 5 m over x, y = 0 to 10, with a wall flush with its edge at x = 10 that
// a sensor to the east sees: the uppermost returns of the wall lie within the
// noise that the roof stage allows a roof. They are told from the roof's, and
// put where their rays passed the roof's height, outside: a return 0.1 m below
// the edge, of a ray with a tangent of 0.5, passed it 0.05 m outside.
func TestFacesAreNotRoof(t *testing.T) {
	var points []cloud.Point
	add := func(x, y, z float64) {
		points = append(points, cloud.Pack(x, y, z, cloud.Attributes{Return: 1, Returns: 1, Time: float64(len(points))}))
	}
	for i := range 40 {
		for k := range 40 {
			add(float64(i)/4+0.125, float64(k)/4+0.125, 5)
		}
	}
	for k := range 20 {
		add(10, float64(k)/2+0.25, 4.9)
	}
	b, _ := cloud.NewBlock(cloud.Frame{Horizontal: 1, Vertical: 1}, points)
	b.HasTime, b.HasReturns = true, true
	s := &surroundings{
		block: b, measures: quarterMetre, path: above{10 + 0.5*60, 5, 65},
		roofOf: make([]int32, len(b.Points)), hag: make([]float32, len(b.Points)),
	}
	var roof []int32
	for i := range b.Points {
		roof = append(roof, int32(i))
	}
	faces, rest := s.faces(newRoofShape(b, roof, quarterMetre, s.margin()))
	for i := range b.Points {
		if onWall := b.Points[i].Up() < 4.95; faces[int32(i)] != onWall {
			t.Errorf("point %d at %v is taken for a face: %v", i, b.Points[i].East(), faces[int32(i)])
		}
	}
	if len(rest.points) != 1600 {
		t.Errorf("%d points are left of the roof", len(rest.points))
	}
	outside := 0
	for _, o := range s.observe(0, newRoofShape(b, roof, quarterMetre, s.margin())) {
		if o.Side == outline.Outside {
			outside++
			if o.X < 10.04 || o.X > 10.06 || !o.Blind {
				t.Errorf("a ray that met the wall passed the roof's height at %.3f, blind %v", o.X, o.Blind)
			}
		}
	}
	if outside != 20 {
		t.Errorf("%d rays passed the roof, want 20", outside)
	}
}

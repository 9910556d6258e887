package cloud_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"quoin/extract/cloud"
)

func TestFindEveryPoint(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	points := make([]cloud.Point, 5000)
	for i := range points {
		points[i] = cloud.Pack(600*r.Float64()-300, 600*r.Float64()-300, 30*r.Float64(), cloud.Attributes{})
	}
	frame := cloud.Frame{OriginE: 500 * 1024, OriginN: 1024, Horizontal: 0.3048, Vertical: 0.3048}
	b, _ := cloud.NewBlock(frame, points)
	for i := range b.Points {
		p := &b.Points[i]
		at := frame.ToCRS(p.East(), p.North())
		if k, ok := b.Find(at[0], at[1], p.Up()/frame.Vertical); !ok || k != i {
			t.Fatalf("point %d found as %d, %v", i, k, ok)
		}
		if _, ok := b.Find(at[0], at[1], p.Up()/frame.Vertical+0.01); ok {
			t.Fatalf("something found above point %d", i)
		}
	}
	for _, x := range []float64{math.NaN(), math.Inf(1), 1e300, 0} {
		if _, ok := b.Find(x, 0, 0); ok {
			t.Errorf("something found at %v", x)
		}
	}
}

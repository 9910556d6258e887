package roof

import (
	"math"
	"math/rand/v2"
	"testing"

	"quoin/extract/cloud"
)

// town is a block of the given number of points at 28 a square metre: half of
// it ground, a third roofs, the rest crowns of trees.
func town(n int) *survey {
	r := rand.New(rand.NewPCG(5, 6))
	const density, plot = 28.0, 24.0
	size := math.Sqrt(float64(n) / density)
	s := &survey{measures: cloud.Measures{Density: density, Spacing: 1 / math.Sqrt(density), SigmaZ: 0.02, Sigma: 0.03}}
	points := make([]cloud.Point, n)
	for i := range points {
		x, y := r.Float64()*size, r.Float64()*size
		u, v := math.Mod(x, plot)-plot/2, math.Mod(y, plot)-plot/2
		z, a := 0.0, cloud.Attributes{Time: float64(i) * 1e-5, Return: 1, Returns: 1}
		switch {
		case math.Abs(u) < 6 && math.Abs(v) < 8:
			z = 4 + 0.6*(6-math.Abs(u))
		case math.Abs(u) > 7 && math.Abs(v) > 6:
			z = 2 + 7*r.Float64()
			a.Returns = 2
		}
		points[i] = cloud.Pack(x, y, z+0.02*r.NormFloat64(), a)
	}
	s.block, _ = cloud.NewBlock(cloud.Frame{Horizontal: 1, Vertical: 1}, points)
	s.hag = make([]float32, s.block.Len())
	for i := range s.hag {
		s.hag[i] = float32(s.block.Points[i].Up())
	}
	return s
}

func BenchmarkDescribe(b *testing.B) {
	s := town(300000)
	out := make([]Feature, s.block.Len())
	b.ReportAllocs()
	for b.Loop() {
		Describe(s.block, s.hag, s.block.Bounds(), s.measures, out)
	}
	b.ReportMetric(float64(s.block.Len())*float64(b.N)/b.Elapsed().Seconds()/1e6, "Mpts/s")
}

func BenchmarkStage(b *testing.B) {
	s := town(300000)
	b.ReportAllocs()
	for b.Loop() {
		s.segment(DefaultOptions())
	}
	b.ReportMetric(float64(s.block.Len())*float64(b.N)/b.Elapsed().Seconds()/1e6, "Mpts/s")
}

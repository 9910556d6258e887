package ground

import (
	"fmt"
	"testing"

	"quoin/extract/cloud"
)

func BenchmarkEstimate(b *testing.B) {
	for _, density := range []float64{2, 4, 20, 100} {
		block, o := scanned(settlement(gentle, 1), density, 1)
		b.Run(fmt.Sprintf("density=%g", density), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				s, err := Estimate(block, cloud.Rect{MaxX: 200, MaxY: 200}, o)
				if err != nil {
					b.Fatal(err)
				}
				Mask(block, s.Z, Height(block, s.Z), o)
			}
			b.ReportMetric(float64(len(block.Points))*float64(b.N)/b.Elapsed().Seconds()/1e6, "Mpoints/s")
		})
	}
}

// BenchmarkUnit is a unit of 256 m with its halo in the middle of a larger
// block: what the caller runs.
func BenchmarkUnit(b *testing.B) {
	w := settlement(rough, 1)
	w.size = 460
	for _, density := range []float64{4, 20} {
		block, o := scanned(w, density, 1)
		b.Run(fmt.Sprintf("density=%g", density), func(b *testing.B) {
			b.ReportAllocs()
			core := cloud.Rect{MinX: 100, MinY: 100, MaxX: 356, MaxY: 356}
			for b.Loop() {
				if _, err := Estimate(block, core, o); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(density*256*256*float64(b.N)/b.Elapsed().Seconds()/1e6, "Mpoints/s")
		})
	}
}

func BenchmarkDelaunay(b *testing.B) {
	const n = 200
	b.ReportAllocs()
	for b.Loop() {
		t := newTin(n*20000, n*20000, 10000, n*n)
		near := int32(0)
		for i := range int32(n * n) {
			x, y := i%n*20000+i*7919%19999, i/n*20000+i*104729%19999
			near = t.insert(x, y, 0, near)
		}
	}
	b.ReportMetric(n*n*float64(b.N)/b.Elapsed().Seconds()/1e6, "Mpoints/s")
}

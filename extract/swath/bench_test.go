package swath

import (
	"testing"

	"quoin/extract/cloud"
)

// Three million points of six crossing lines.
func BenchmarkMeasure(b *testing.B) {
	var points []cloud.Point
	for i := range 6 {
		f := flight{
			seed: uint64(i), source: uint16(i), start: 500 + 100*float64(i), seconds: 25, rate: 18000, second: 0.15, noise: 0.01,
			path: drone(-20, 20*float64(i)-50, 0.2*float64(i%2)), beam: lines,
		}
		points = append(points, f.points()...)
	}
	block := blockOf(points)
	b.ReportAllocs()
	for b.Loop() {
		Measure(block, 2)
	}
	b.ReportMetric(float64(len(points))*float64(b.N)/b.Elapsed().Seconds(), "points/s")
}

// Positions for points in no order of time.
func BenchmarkAt(b *testing.B) {
	f := flight{seconds: 25, rate: 4000, second: 0.15, noise: 0.01, path: drone(-20, 0, 0.2), beam: lines}
	block := blockOf(f.points())
	t := Track(block, 2)
	n := 0
	for b.Loop() {
		p := &block.Points[n%len(block.Points)]
		t.At(p.Source, p.Tick())
		n++
	}
}

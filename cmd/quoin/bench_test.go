package main

import (
	"path/filepath"
	"strings"
	"testing"

	"quoin/extract"
	"quoin/extract/scene"
)

// BenchmarkExtract runs the whole job on the demo block, of three million
// points. docs/performance.md has the figures.
func BenchmarkExtract(b *testing.B) {
	dir := b.TempDir()
	s, err := scene.Compose(scene.DefaultSpec(scene.Demo))
	if err != nil {
		b.Fatal(err)
	}
	sum, err := s.Write(b.Context(), dir, 2)
	if err != nil {
		b.Fatal(err)
	}
	o := extract.DefaultOptions()
	o.Inputs, o.Control, o.Out = sum.Clouds, sum.Control, filepath.Join(dir, "delivery")
	var record *extract.Record
	for b.Loop() {
		if record, err = extract.Run(b.Context(), o); err != nil {
			b.Fatal(err)
		}
	}
	perOp := b.Elapsed().Seconds() / float64(b.N)
	b.ReportMetric(float64(sum.Points)/perOp, "points/s")
	for _, stage := range record.Stages {
		b.ReportMetric(stage.Seconds, strings.ReplaceAll(stage.Name, " ", "-")+"-s") // units have no blanks
	}
	b.ReportMetric(float64(record.Stages[len(record.Stages)-1].PeakMemory)/float64(sum.Points), "peak-B/point")
}

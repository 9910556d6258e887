package las_test

import (
	"context"
	"path/filepath"
	"testing"

	"quoin/extract/cloud"
	"quoin/extract/las"
)

func BenchmarkBatches(b *testing.B) {
	path := filepath.Join(b.TempDir(), "a.las")
	const n = 1_000_000
	w, err := las.Create(path, las.Header{Version: 4, Format: 7, Scale: [3]float64{0.001, 0.001, 0.001}})
	if err != nil {
		b.Fatal(err)
	}
	raw := make([]byte, 36*1000)
	for range n / 1000 {
		if err := w.WriteRecords(raw); err != nil {
			b.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		b.Fatal(err)
	}
	f, err := las.Open(path)
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		for _, err := range f.Batches(context.Background()) {
			if err != nil {
				b.Fatal(err)
			}
		}
	}
	b.ReportMetric(n*float64(b.N)/b.Elapsed().Seconds()/1e6, "Mpts/s")
}

func BenchmarkWrite(b *testing.B) {
	const n = 10_000
	batch := &cloud.Batch{X: make([]float64, n), Y: make([]float64, n), Z: make([]float64, n), Return: make([]uint8, n), Returns: make([]uint8, n), Time: make([]float64, n)}
	for i := range n {
		batch.X[i], batch.Return[i], batch.Returns[i] = float64(i), 1, 1
	}
	w, err := las.Create(filepath.Join(b.TempDir(), "a.las"), las.Header{Version: 4, Format: 6, Scale: [3]float64{0.001, 0.001, 0.001}})
	if err != nil {
		b.Fatal(err)
	}
	defer w.Abort()
	b.ReportAllocs()
	for b.Loop() {
		if err := w.Write(batch); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(n*float64(b.N)/b.Elapsed().Seconds()/1e6, "Mpts/s")
}

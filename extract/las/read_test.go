package las_test

import (
	"context"
	"path/filepath"
	"testing"

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

package copc_test

import (
	"bytes"
	"testing"

	"quoin/extract/las/copc"
	"quoin/extract/las/laz"
)

const benchPoints = 400000

func BenchmarkWrite(b *testing.B) {
	records := town(benchPoints)
	for name, memory := range map[string]int{"memory": 1 << 20, "files": 60000} {
		b.Run(name, func(b *testing.B) {
			n := 0
			for b.Loop() {
				write(b, townHeader(), copc.WriterOptions{Workers: 1, Memory: memory}, records)
				n++
			}
			b.ReportMetric(float64(n*benchPoints)/b.Elapsed().Seconds()/1e6, "Mpts/s")
		})
	}
}

// BenchmarkWindow reads a hundredth of the cloud's area.
func BenchmarkWindow(b *testing.B) {
	data, _ := write(b, townHeader(), copc.DefaultWriterOptions(), town(benchPoints))
	r, err := copc.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		b.Fatal(err)
	}
	q := copc.Query{Box: copc.Everywhere(), Options: laz.ReaderOptions{Workers: 1, Layers: laz.LayerZ}}
	whole := r.Info().Cube(copc.Key{})
	for i := range 2 {
		q.Box.Min[i] = whole.Min[i] + (whole.Max[i]-whole.Min[i])*0.6
		q.Box.Max[i] = whole.Min[i] + (whole.Max[i]-whole.Min[i])*0.7
	}
	for b.Loop() {
		if _, err := read(b, r, q); err != nil {
			b.Fatal(err)
		}
	}
}

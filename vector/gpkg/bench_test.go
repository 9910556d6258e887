package gpkg

import (
	"context"
	"fmt"
	"path/filepath"
	"testing"

	"quoin/vector"
	"quoin/vector/layer"
)

func BenchmarkWrite(b *testing.B) {
	for _, n := range []int{1000, 10000} {
		b.Run(fmt.Sprintf("n=%d", n), func(b *testing.B) {
			d := vector.Delivery{CRS: utm32}
			for i := range n {
				d.Footprints = append(d.Footprints, house(fmt.Sprint(i), 500000+30*float64(i%100), 5800000+30*float64(i/100)))
			}
			path := filepath.Join(b.TempDir(), "a.gpkg")
			b.ReportAllocs()
			for b.Loop() {
				if err := Write(context.Background(), path, layer.Of(d), Options{}); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(n)*float64(b.N)/b.Elapsed().Seconds(), "footprints/s")
		})
	}
}

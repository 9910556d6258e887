//go:build !nogdal

package gdal_test

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"quoin/vector"
	"quoin/vector/gdal"
)

func Example() {
	folder, _ := os.MkdirTemp("", "")
	defer os.RemoveAll(folder)
	path := filepath.Join(folder, "ramp.tif")
	err := gdal.WriteCOG(path, gdal.Creation{
		Size: gdal.Size{Width: 600, Height: 400}, Channels: 1, Depth: gdal.Uint8,
		GeoTransform: gdal.GeoTransform{500000, 0.1, 0, 5700000, 0, -0.1},
		CRS:          vector.CRS{Authority: "EPSG", Code: 25832}, Compression: gdal.Deflate, Overviews: gdal.Average,
	}, func(w *gdal.Writer) error {
		m := gdal.NewImage[uint8](600, 400, 1)
		for i := range m.Pix {
			m.Pix[i] = uint8(i % 600 / 4)
		}
		return gdal.Write(w, 0, 0, m)
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	r, err := gdal.OpenRaster(path)
	if err != nil {
		fmt.Println(err)
		return
	}
	defer r.Close()
	m := gdal.NewImage[uint8](4, 1, 1)
	err = gdal.Read(r, gdal.Window{X: 100, Y: 10, Width: 16, Height: 4}, gdal.Average, m)
	fmt.Println(r.Info().Size, r.Info().Overviews, m.Pix, err)
	// Output: {600 400} [{300 200}] [25 26 27 28] <nil>
}

// BenchmarkRead reads windows of a tiled JPEG at full size, and the whole of it
// from its overviews.
func BenchmarkRead(b *testing.B) {
	path := filepath.Join(b.TempDir(), "a.tif")
	c := gdal.Creation{
		Size: gdal.Size{Width: 8192, Height: 8192}, Channels: 3, Depth: gdal.Uint8,
		GeoTransform: gdal.GeoTransform{0, 1, 0, 0, 0, -1}, Compression: gdal.JPEG, Quality: 90, Overviews: gdal.Average,
	}
	err := gdal.WriteCOG(path, c, func(w *gdal.Writer) error {
		m := gdal.NewImage[uint8](8192, 512, 3)
		for i := range m.Pix {
			m.Pix[i] = uint8(value(i/3%8192, i/(3*8192), i%3))
		}
		for row := 0; row < 8192; row += 512 {
			if err := gdal.Write(w, 0, row, m); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		b.Fatal(err)
	}
	m := gdal.NewImage[uint8](1024, 1024, 3)
	for name, size := range map[string]float64{"window": 1024, "whole": 8192} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				r, err := gdal.OpenRaster(path)
				if err != nil {
					b.Fatal(err)
				}
				if err := gdal.Read(r, gdal.Window{Width: size, Height: size}, gdal.Average, m); err != nil {
					b.Fatal(err)
				}
				r.Close()
			}
			b.ReportMetric(float64(len(m.Mask)*b.N)/b.Elapsed().Seconds()/1e6, "Mpixels/s")
		})
	}
}

//go:build nogdal

package gdal_test

import (
	"errors"
	"testing"

	"quoin/vector/gdal"
)

// TestWithoutGDAL says so on each call.
func TestWithoutGDAL(t *testing.T) {
	path := "without_test.go"
	_, opened := gdal.OpenRaster(path)
	_, read := gdal.ReadLayers(path)
	for name, err := range map[string]error{"OpenRaster": opened, "ReadLayers": read, "Translate": gdal.Translate("b", path)} {
		if !errors.Is(err, gdal.ErrNotBuilt) {
			t.Errorf("%s gives %v", name, err)
		}
	}
	made := gdal.Creation{Size: gdal.Size{Width: 1, Height: 1}, Channels: 1, Depth: gdal.Uint8, Compression: gdal.Deflate}
	for _, write := range []func(string, gdal.Creation, func(*gdal.Writer) error) error{gdal.WriteTiled, gdal.WriteCOG} {
		if err := write(t.TempDir()+"/a.tif", made, nil); !errors.Is(err, gdal.ErrNotBuilt) {
			t.Errorf("writing gives %v", err)
		}
	}
}

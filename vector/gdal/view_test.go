//go:build !nogdal

package gdal_test

import (
	"errors"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"quoin/vector"
	"quoin/vector/crs"
	"quoin/vector/gdal"
)

// TestWarpedLiesRight views the picture in the neighbouring zone and
// compares with its formula at the places that PROJ gives.
func TestWarpedLiesRight(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.tif")
	run(t, "gdal_translate", append(append([]string{"-q"}, place...), picture(t, 3, 255), path)...)
	r := open(t, path)
	zone33, err := crs.Parse("EPSG:25833")
	if err != nil {
		t.Fatal(err)
	}
	zone32, _ := crs.Parse("EPSG:25832")
	v, err := r.Warped(gdal.View{CRS: zone33, Resampling: gdal.Bilinear, Pixel: 0.05})
	if err != nil {
		t.Fatal(err)
	}
	defer v.Close()
	info := v.Info()
	back, err := crs.NewTransformer(zone33, zone32, orb.Point{info.GeoTransform[0], info.GeoTransform[3]}, crs.Options{})
	if err != nil {
		t.Fatal(err)
	}
	m := gdal.NewImage[float32](info.Width, info.Height, 3)
	if err := gdal.Read(v, gdal.Window{Width: float64(info.Width), Height: float64(info.Height)}, gdal.Nearest, m); err != nil {
		t.Fatal(err)
	}
	seen := 0
	for y := 0; y < info.Height; y += 7 {
		for x := 0; x < info.Width; x += 7 {
			e, n := info.GeoTransform.Apply(float64(x)+0.5, float64(y)+0.5)
			p, err := back.Forward(orb.Point{e, n})
			if err != nil {
				t.Fatal(err)
			}
			u, w := (p[0]-500000)/0.05-0.5, (5700000-p[1])/0.05-0.5
			if in := u > 1 && w > 1 && u < width-2 && w < height-2; in != (m.Mask[y*info.Width+x] == 255) {
				if u > -2 && w > -2 && u < width+1 && w < height+1 && (u < 1 || w < 1 || u > width-2 || w > height-2) {
					continue // on the border
				}
				t.Fatalf("pixel %d, %d: inside %v, mask %d", x, y, in, m.Mask[y*info.Width+x])
			} else if !in {
				continue
			}
			seen++
			for c := range 3 {
				// The steepest of the formula is 2.9 steps a pixel: half a step of
				// rounding twice, and a place good to a hundredth of a pixel.
				if d := math.Abs(float64(m.Pix[3*(y*info.Width+x)+c]) - smooth(u, w, c)); d > 1.05 {
					t.Fatalf("pixel %d, %d differs by %.2f", x, y, d)
				}
			}
		}
	}
	if seen < 5000 {
		t.Errorf("only %d pixels compared", seen)
	}
}

// smooth is value between pixels.
func smooth(u, v float64, c int) float64 {
	return 128 + 60*math.Sin(u/40+float64(c)) + 50*math.Cos(v/35-float64(2*c))
}

// TestWarpedWithoutCRS needs to be told where an image with a world file is.
func TestWarpedWithoutCRS(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.tif")
	run(t, "gdal_translate", append(append([]string{"-q", "-co", "TFW=YES", "-co", "PROFILE=BASELINE"}, place...), picture(t, 1, 255), path)...)
	os.Remove(path + ".aux.xml")
	r := open(t, path)
	zone32, _ := crs.Parse("EPSG:25832")
	if _, err := r.Warped(gdal.View{CRS: zone32}); err == nil || !strings.Contains(err.Error(), "names no CRS") {
		t.Errorf("without a CRS: %v", err)
	}
	if _, err := r.Warped(gdal.View{CRS: vector.CRS{}, Assumed: zone32}); err == nil {
		t.Error("warped to nowhere")
	}
	nowhere := filepath.Join(t.TempDir(), "b.tif")
	run(t, "gdal_translate", "-q", picture(t, 1, 255), nowhere)
	if _, err := open(t, nowhere).Warped(gdal.View{CRS: zone32, Assumed: zone32}); err == nil {
		t.Error("warped from nowhere")
	}
	v, err := r.Warped(gdal.View{CRS: zone32, Assumed: zone32})
	if err != nil {
		t.Fatal(err)
	}
	defer v.Close()
	compare[uint8](t, v, 1, 1, 0)
}

// TestPalette reads numbers of colours as colours.
func TestPalette(t *testing.T) {
	folder := t.TempDir()
	path, bands := filepath.Join(folder, "p.tif"), filepath.Join(folder, "rgb.tif")
	run(t, "gdal_translate", append(append([]string{"-q"}, place...), picture(t, 3, 255), bands)...)
	run(t, "/usr/bin/python3", "-m", "osgeo_utils.rgb2pct", bands, path)
	expanded := filepath.Join(folder, "expanded.tif")
	run(t, "gdal_translate", "-q", "-expand", "rgb", path, expanded)
	r, want := open(t, path), open(t, expanded)
	info := r.Info()
	if info.Channels != 3 || info.Format != "GTiff" || !info.Placed {
		t.Fatalf("read %+v", info)
	}
	got, reference := gdal.NewImage[uint8](width, height, 3), gdal.NewImage[uint8](width, height, 3)
	all := gdal.Window{Width: width, Height: height}
	if err := errors.Join(gdal.Read(r, all, gdal.Nearest, got), gdal.Read(want, all, gdal.Nearest, reference)); err != nil {
		t.Fatal(err)
	}
	if !slices.Equal(got.Pix, reference.Pix) || slices.ContainsFunc(got.Mask, func(v uint8) bool { return v != 255 }) {
		t.Error("the colours are not those that gdal_translate makes of the palette")
	}
}

// TestMasks reads what is there from alpha, nodata and a mask of its own.
func TestMasks(t *testing.T) {
	folder := t.TempDir()
	rgb := picture(t, 3, 255)
	box := []string{"-q", "-srcwin", "-20", "-10", "740", "470"} // a border without anything
	for _, c := range []struct {
		name string
		args []string
	}{
		{"nodata", []string{"-a_nodata", "0"}},
		{"mask", []string{"-mask", "4", "-b", "1", "-b", "2", "-b", "3", "-co", "COMPRESS=JPEG", "-co", "PHOTOMETRIC=YCBCR", "--config", "GDAL_TIFF_INTERNAL_MASK", "YES"}},
		{"alpha", []string{"-co", "TILED=YES", "-co", "COMPRESS=DEFLATE"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			path := filepath.Join(folder, c.name+".tif")
			source := rgb
			if c.name != "nodata" {
				source = filepath.Join(folder, c.name+".vrt")
				run(t, "gdalwarp", "-q", "-of", "VRT", "-dstalpha", "-t_srs", "EPSG:25832", "-s_srs", "EPSG:25832",
					"-te", "-20", "-460", "720", "10", "-tr", "1", "1", topLeft(t, rgb), source)
				run(t, "gdal_translate", append(append([]string{"-q"}, c.args...), source, path)...)
			} else {
				run(t, "gdal_translate", append(append(box, c.args...), source, path)...)
			}
			r := open(t, path)
			m := gdal.NewImage[uint8](740, 470, 1)
			if err := gdal.Read(r, gdal.Window{Width: 740, Height: 470}, gdal.Nearest, m); err != nil {
				t.Fatal(err)
			}
			for i, v := range m.Mask {
				x, y := i%740, i/740
				want := x >= 20 && y >= 10 && x < 720 && y < 460
				if (v == 255) != want {
					t.Fatalf("mask %d at %d, %d", v, x, y)
				}
			}
		})
	}
}

// topLeft gives the picture coordinates that are its pixels.
func topLeft(t *testing.T, from string) string {
	path := filepath.Join(t.TempDir(), "placed.tif")
	run(t, "gdal_translate", "-q", "-a_srs", "EPSG:25832", "-a_ullr", "0", "0", "700", "-450", from, path)
	return path
}

// TestNothingIsFetched has a virtual raster name sources in networks and archives.
func TestNothingIsFetched(t *testing.T) {
	for _, source := range []string{
		"/vsicurl/http://127.0.0.1:9/a.tif", "/vsicurl?url=http://127.0.0.1:9/a.tif", "/vsis3/bucket/a.tif",
		"/vsigs/bucket/a.tif", "/vsizip//tmp/a.zip/a.tif", "/vsistdin/", "http://127.0.0.1:9/a.tif", "WMS:http://127.0.0.1:9/",
	} {
		path := filepath.Join(t.TempDir(), "a.vrt")
		text := `<VRTDataset rasterXSize="8" rasterYSize="8"><VRTRasterBand dataType="Byte" band="1"><SimpleSource>
<SourceFilename relativeToVRT="0">` + strings.ReplaceAll(source, "&", "&amp;") + `</SourceFilename><SourceBand>1</SourceBand>
</SimpleSource></VRTRasterBand></VRTDataset>`
		if err := os.WriteFile(path, []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
		r, err := gdal.OpenRaster(path)
		if err == nil {
			err = gdal.Read(r, gdal.Window{Width: 8, Height: 8}, gdal.Nearest, gdal.NewImage[uint8](8, 8, 1))
			r.Close()
		}
		if err == nil || strings.Contains(err.Error(), "onnect") {
			t.Errorf("%s gives %v", source, err)
		} else {
			t.Log(err)
		}
	}
}

//go:build !nogdal

package gdal_test

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"quoin/vector/gdal"
)

// run runs one of GDAL's own programs.
func run(t testing.TB, program string, args ...string) string {
	t.Helper()
	out, err := exec.Command(program, args...).CombinedOutput()
	if err != nil {
		t.Fatalf("%s %s: %v\n%s", program, strings.Join(args, " "), err, out)
	}
	return string(out)
}

const width, height = 700, 450

// value is what the test picture holds: smooth, so that JPEG keeps it, and
// different in each place and channel.
func value(x, y, c int) float64 {
	u, v := float64(x), float64(y)
	return 128 + 60*math.Sin(u/40+float64(c)) + 50*math.Cos(v/35-float64(2*c))
}

// picture writes the test picture as portable pixmap (Netpbm), which no code of
// ours reads.
func picture(t testing.TB, channels, peak int) string {
	t.Helper()
	var b bytes.Buffer
	kind := map[int]int{1: 5, 3: 6}[channels]
	fmt.Fprintf(&b, "P%d\n%d %d\n%d\n", kind, width, height, peak)
	for y := range height {
		for x := range width {
			for c := range channels {
				v := int(math.Round(value(x, y, c) * float64(peak) / 255))
				if peak > 255 {
					b.WriteByte(byte(v >> 8))
				}
				b.WriteByte(byte(v))
			}
		}
	}
	path := filepath.Join(t.TempDir(), "picture.pnm")
	if err := os.WriteFile(path, b.Bytes(), 0o666); err != nil {
		t.Fatal(err)
	}
	return path
}

// place puts the picture into UTM zone 32, 5 cm a pixel.
var place = []string{"-a_srs", "EPSG:25832", "-a_ullr", "500000", "5700000", "500035", "5699977.5"}

func open(t testing.TB, path string) *gdal.Raster {
	t.Helper()
	r, err := gdal.OpenRaster(path)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { r.Close() })
	return r
}

// compare checks a window at full size against the picture.
func compare[T gdal.Sample](t *testing.T, r *gdal.Raster, channels int, scale, tolerance float64) {
	t.Helper()
	const x0, y0, w, h = 123, 201, 310, 222
	m := gdal.NewImage[T](w, h, channels)
	if err := gdal.Read(r, gdal.Window{X: x0, Y: y0, Width: w, Height: h}, gdal.Nearest, m); err != nil {
		t.Fatal(err)
	}
	worst := 0.0
	for y := range h {
		for x := range w {
			if m.Mask[y*w+x] != 255 {
				t.Fatalf("pixel %d, %d is masked", x, y)
			}
			for c := range channels {
				want := math.Round(value(x0+x, y0+y, c) * scale)
				worst = max(worst, math.Abs(float64(m.Pix[(y*w+x)*channels+c])-want))
			}
		}
	}
	if worst > tolerance {
		t.Errorf("a sample is %.1f off, more than %.1f", worst, tolerance)
	}
}

// TestEveryLayout reads what GDAL's own gdal_translate writes, in each
// compression and layout of GeoTIFF.
func TestEveryLayout(t *testing.T) {
	rgb, grey, deep := picture(t, 3, 255), picture(t, 1, 255), picture(t, 3, 65535)
	// JPEG of quality 95 keeps a smooth picture to a few of 255 steps (common
	// practice, no source); all others keep it whole.
	const lossy = 4
	for _, c := range []struct {
		name, from, options string
		tolerance           float64
	}{
		{"strips", rgb, "", 0},
		{"tiles", rgb, "TILED=YES", 0},
		{"bands apart", rgb, "TILED=YES INTERLEAVE=BAND", 0},
		{"deflate", rgb, "TILED=YES COMPRESS=DEFLATE", 0},
		{"deflate, predictor", rgb, "COMPRESS=DEFLATE PREDICTOR=2", 0},
		{"lzw", rgb, "TILED=YES COMPRESS=LZW PREDICTOR=2", 0},
		{"lzw, bands apart", rgb, "COMPRESS=LZW INTERLEAVE=BAND", 0},
		{"packbits", rgb, "COMPRESS=PACKBITS", 0},
		{"zstd", rgb, "TILED=YES COMPRESS=ZSTD", 0},
		{"lzma", grey, "COMPRESS=LZMA", 0},
		{"webp", rgb, "TILED=YES COMPRESS=WEBP WEBP_LOSSLESS=YES", 0},
		{"jpeg", rgb, "TILED=YES COMPRESS=JPEG JPEG_QUALITY=95", lossy},
		{"jpeg, YCbCr", rgb, "TILED=YES COMPRESS=JPEG JPEG_QUALITY=95 PHOTOMETRIC=YCBCR", lossy + 2},
		{"jpeg, strips", grey, "COMPRESS=JPEG JPEG_QUALITY=95", lossy},
		{"big", rgb, "TILED=YES BIGTIFF=YES COMPRESS=LZW", 0},
		{"big-endian", rgb, "ENDIANNESS=BIG TILED=YES", 0},
		{"grey", grey, "TILED=YES COMPRESS=DEFLATE", 0},
		{"16 bits", deep, "TILED=YES COMPRESS=DEFLATE PREDICTOR=2", 0},
		{"16 bits, bands apart", deep, "COMPRESS=LZW INTERLEAVE=BAND", 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "a.tif")
			args := append([]string{"-q"}, place...)
			for _, o := range strings.Fields(c.options) {
				args = append(args, "-co", o)
			}
			run(t, "gdal_translate", append(args, c.from, path)...)
			r := open(t, path)
			info := r.Info()
			want := gdal.GeoTransform{500000, 0.05, 0, 5700000, 0, -0.05}
			for i := range want {
				if math.Abs(info.GeoTransform[i]-want[i]) > 1e-9 {
					t.Fatalf("geotransform %v, want %v", info.GeoTransform, want)
				}
			}
			if info.Format != "GTiff" || info.Size != (gdal.Size{Width: width, Height: height}) || !info.Placed || !strings.Contains(info.CRS, "25832") {
				t.Fatalf("read %+v", info)
			}
			if c.from == deep {
				compare[uint16](t, r, 3, 65535/255., c.tolerance)
			} else {
				compare[uint8](t, r, info.Channels, 1, c.tolerance)
				compare[float32](t, r, info.Channels, 1, c.tolerance)
			}
		})
	}
}

// TestOtherFormats reads the picture from files with world files beside them.
func TestOtherFormats(t *testing.T) {
	rgb := picture(t, 3, 255)
	for _, c := range []struct {
		format, name string
		options      []string
		tolerance    float64
	}{
		{"PNG", "a.png", []string{"-co", "WORLDFILE=YES"}, 0},
		{"JPEG", "a.jpg", []string{"-co", "WORLDFILE=YES", "-co", "QUALITY=95"}, 6},
		{"JP2OpenJPEG", "a.jp2", []string{"-co", "REVERSIBLE=YES", "-co", "QUALITY=100"}, 0},
		{"GTiff", "b.tif", []string{"-co", "TFW=YES", "-co", "PROFILE=BASELINE"}, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			folder := t.TempDir()
			path := filepath.Join(folder, c.name)
			args := append([]string{"-q", "-of", c.format}, place...)
			run(t, "gdal_translate", append(append(args, c.options...), rgb, path)...)
			if c.format != "JP2OpenJPEG" {
				os.Remove(path + ".aux.xml") // leave the world file only
			}
			r := open(t, path)
			info := r.Info()
			want := gdal.GeoTransform{500000, 0.05, 0, 5700000, 0, -0.05}
			for i := range want {
				if math.Abs(info.GeoTransform[i]-want[i]) > 1e-6 {
					t.Fatalf("geotransform %v, want %v", info.GeoTransform, want)
				}
			}
			if !info.Placed || (info.CRS == "") != (c.format != "JP2OpenJPEG") {
				t.Errorf("read %+v", info)
			}
			compare[uint8](t, r, 3, 1, c.tolerance)
		})
	}
}

// TestErrors names the file and what GDAL says.
func TestErrors(t *testing.T) {
	if _, err := gdal.OpenRaster(filepath.Join(t.TempDir(), "none.tif")); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("a missing file gives %v", err)
	}
	path := filepath.Join(t.TempDir(), "text.tif")
	if err := os.WriteFile(path, []byte("no picture"), 0o666); err != nil {
		t.Fatal(err)
	}
	_, err := gdal.OpenRaster(path)
	var e *gdal.Error
	if !errors.As(err, &e) || e.Path != path || !strings.Contains(e.Text, "not recognized as a supported file format") {
		t.Errorf("a file of text gives %v", err)
	}
	for _, name := range []string{"/vsicurl/http://127.0.0.1:1/a.tif", "http://127.0.0.1:1/a.tif", "WMS:http://127.0.0.1:1/", "/vsizip/a.zip/a.tif", ""} {
		if _, err := gdal.OpenRaster(name); !errors.Is(err, fs.ErrNotExist) {
			t.Errorf("%q gives %v", name, err)
		}
	}
}

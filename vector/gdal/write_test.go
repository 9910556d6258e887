//go:build !nogdal

package gdal_test

import (
	"bytes"
	"errors"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"quoin/vector/crs"
	"quoin/vector/gdal"
)

// creation is a file of the test picture's size and place.
func creation(t testing.TB, channels int, c gdal.Compression) gdal.Creation {
	t.Helper()
	utm, err := crs.Parse("EPSG:25832+7837")
	if err != nil {
		t.Fatal(err)
	}
	return gdal.Creation{
		Size: gdal.Size{Width: width, Height: height}, Channels: channels, Depth: gdal.Uint8,
		GeoTransform: gdal.GeoTransform{500000, 0.05, 0, 5700000, 0, -0.05},
		CRS:          utm, Compression: c, Quality: 95, Overviews: gdal.Average,
	}
}

// draw writes the test picture tile by tile; a disc in it is transparent.
func draw[T gdal.Sample](channels int, scale float64) func(w *gdal.Writer) error {
	return func(w *gdal.Writer) error {
		for y := 0; y < height; y += 512 {
			for x := 0; x < width; x += 512 {
				m := gdal.NewImage[T](min(512, width-x), min(512, height-y), channels)
				for i := range m.Mask {
					px, py := x+i%m.Width, y+i/m.Width
					if !inDisc(px, py) {
						m.Mask[i] = 255
					}
					for c := range channels {
						m.Pix[i*channels+c] = T(math.Round(value(px, py, c) * scale))
					}
				}
				if err := gdal.Write(w, x, y, m); err != nil {
					return err
				}
			}
		}
		return nil
	}
}

func inDisc(x, y int) bool { return math.Hypot(float64(x-60), float64(y-70)) < 30 }

// TestTiledIsReadByGDAL writes each kind of file and has GDAL's own programs
// say what is in it.
func TestTiledIsReadByGDAL(t *testing.T) {
	for _, c := range []struct {
		compression gdal.Compression
		channels    int
		alpha       bool
		depth       gdal.Depth
		says        []string
		tolerance   float64
	}{
		{gdal.Uncompressed, 3, false, gdal.Uint8, []string{"Block=512x512 Type=Byte, ColorInterp=Red"}, 0},
		{gdal.Deflate, 3, true, gdal.Uint8, []string{"COMPRESSION=DEFLATE", "ColorInterp=Alpha"}, 0},
		{gdal.LZW, 1, false, gdal.Uint16, []string{"COMPRESSION=LZW", "Type=UInt16, ColorInterp=Gray"}, 0},
		{gdal.Deflate, 1, true, gdal.Uint16, []string{"Type=UInt16, ColorInterp=Alpha"}, 0},
		{gdal.Deflate, 1, false, gdal.Float32, []string{"Type=Float32, ColorInterp=Gray"}, 0.5},
		{gdal.JPEG, 3, false, gdal.Uint8, []string{"COMPRESSION=YCbCr JPEG"}, 6},
		{gdal.WebP, 3, true, gdal.Uint8, []string{"COMPRESSION=WEBP"}, 0},
	} {
		t.Run(string(c.compression), func(t *testing.T) {
			made := creation(t, c.channels, c.compression)
			made.Alpha, made.Depth = c.alpha, c.depth
			path := filepath.Join(t.TempDir(), "a.tif")
			fill, scale := draw[uint8](c.channels, 1), 1.0
			switch c.depth {
			case gdal.Uint16:
				fill, scale = draw[uint16](c.channels, 100), 100
			case gdal.Float32:
				fill = draw[float32](c.channels, 1)
			}
			if err := gdal.WriteTiled(path, made, fill); err != nil {
				t.Fatal(err)
			}
			says := run(t, "gdalinfo", path)
			for _, want := range append(c.says, "Origin = (500000.000000000000000,5700000.000000000000000)", `ID["EPSG",25832]`, "Size is 700, 450") {
				if !strings.Contains(says, want) {
					t.Errorf("gdalinfo does not say %q:\n%s", want, says)
				}
			}
			r := open(t, path)
			compare[float32](t, r, c.channels, scale, c.tolerance)
			if !c.alpha {
				return
			}
			m := gdal.NewImage[uint8](1, 1, c.channels)
			for x, want := range map[float64]uint8{60: 0, 95: 255} {
				if err := gdal.Read(r, gdal.Window{X: x, Y: 70, Width: 1, Height: 1}, gdal.Nearest, m); err != nil || m.Mask[0] != want {
					t.Errorf("mask at %v is %d (%v), want %d", x, m.Mask[0], err, want)
				}
			}
		})
	}
}

// validate is GDAL's own check of cloud-optimised files.
const validate = "import sys; from osgeo_utils.samples.validate_cloud_optimized_geotiff import validate; w, e, d = validate(sys.argv[1], full_check=True); print(w, e); sys.exit(len(w) + len(e))"

// TestCOGIsValid has GDAL's validator accept what is written, without a warning.
func TestCOGIsValid(t *testing.T) {
	for _, c := range []gdal.Compression{gdal.Deflate, gdal.JPEG, gdal.LZW, gdal.WebP, gdal.Uncompressed} {
		t.Run(string(c), func(t *testing.T) {
			made := creation(t, 3, c)
			made.Alpha = true
			folder := t.TempDir()
			path := filepath.Join(folder, "a.tif")
			if err := gdal.WriteCOG(path, made, draw[uint8](3, 1)); err != nil {
				t.Fatal(err)
			}
			run(t, "/usr/bin/python3", "-c", validate, path)
			says := run(t, "gdalinfo", path)
			for _, want := range []string{"LAYOUT=COG", "Overviews: 350x225", `ID["EPSG",25832]`} {
				if !strings.Contains(says, want) {
					t.Errorf("gdalinfo does not say %q:\n%s", want, says)
				}
			}
			tolerance := 0.0
			if c == gdal.JPEG {
				tolerance = 6
			}
			compare[uint8](t, open(t, path), 3, 1, tolerance)
			first, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			if err := gdal.WriteCOG(path, made, draw[uint8](3, 1)); err != nil {
				t.Fatal(err)
			}
			if second, _ := os.ReadFile(path); !bytes.Equal(first, second) {
				t.Error("the same picture gives other bytes")
			}
			left, _ := filepath.Glob(filepath.Join(folder, ".*"))
			names, _ := os.ReadDir(folder)
			if len(left) > 0 || len(names) != 1 {
				t.Errorf("left behind: %v", names)
			}
		})
	}
}

// TestFailedWriteLeavesNothing keeps the old file when the new one fails.
func TestFailedWriteLeavesNothing(t *testing.T) {
	folder := t.TempDir()
	path := filepath.Join(folder, "a.tif")
	if err := os.WriteFile(path, []byte("old"), 0o666); err != nil {
		t.Fatal(err)
	}
	stop := errors.New("stop")
	for _, write := range []func(string, gdal.Creation, func(*gdal.Writer) error) error{gdal.WriteTiled, gdal.WriteCOG} {
		if err := write(path, creation(t, 3, gdal.Deflate), func(*gdal.Writer) error { return stop }); !errors.Is(err, stop) {
			t.Errorf("the error is %v", err)
		}
		outside := func(w *gdal.Writer) error { return gdal.Write(w, 690, 0, gdal.NewImage[uint8](11, 1, 3)) }
		if err := write(path, creation(t, 3, gdal.Deflate), outside); !errors.Is(err, gdal.ErrWindow) {
			t.Errorf("pixels outside give %v", err)
		}
	}
	left, _ := os.ReadDir(folder)
	content, _ := os.ReadFile(path)
	if len(left) != 1 || string(content) != "old" {
		t.Errorf("left %v, content %q", left, content)
	}
}

// TestWrongCreations are refused before a file is made.
func TestWrongCreations(t *testing.T) {
	good := creation(t, 3, gdal.JPEG)
	for name, change := range map[string]func(*gdal.Creation){
		"no size":    func(c *gdal.Creation) { c.Width = 0 },
		"channels":   func(c *gdal.Creation) { c.Channels = 2 },
		"depth":      func(c *gdal.Creation) { c.Depth = gdal.OtherDepth },
		"deep JPEG":  func(c *gdal.Creation) { c.Depth = gdal.Uint16 },
		"no quality": func(c *gdal.Creation) { c.Quality = 0 },
		"deep WebP":  func(c *gdal.Creation) { c.Compression, c.Depth = gdal.WebP, gdal.Float32 },
	} {
		c := good
		change(&c)
		err := gdal.WriteCOG(filepath.Join(t.TempDir(), "a.tif"), c, func(*gdal.Writer) error { t.Error("a file was made"); return nil })
		if err == nil {
			t.Errorf("%s: no error", name)
		}
	}
}

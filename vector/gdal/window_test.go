//go:build !nogdal

package gdal_test

import (
	"errors"
	"fmt"
	"math"
	"path/filepath"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"quoin/vector/gdal"
)

// mean is the mean of the picture's formula over a square of pixels.
func mean(x, y, side, c int) float64 {
	sum := 0.0
	for v := y; v < y+side; v++ {
		for u := x; u < x+side; u++ {
			sum += math.Round(value(u, v, c))
		}
	}
	return sum / float64(side*side)
}

// TestOverviews reads reduced windows of files with overviews inside and beside
// them, as GDAL's own gdaladdo makes them, and of one without.
func TestOverviews(t *testing.T) {
	rgb := picture(t, 3, 255)
	for _, c := range []struct {
		name string
		add  []string
	}{{"none", nil}, {"inside", []string{"-r", "average"}}, {"beside", []string{"-r", "average", "-ro"}}} {
		t.Run(c.name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "a.tif")
			run(t, "gdal_translate", append(append([]string{"-q", "-co", "TILED=YES", "-co", "COMPRESS=LZW"}, place...), rgb, path)...)
			if c.add != nil {
				run(t, "gdaladdo", append(append([]string{"-q"}, c.add...), path, "2", "4", "8")...)
			}
			r := open(t, path)
			if c.add != nil {
				// Sizes are rounded up (GDAL data model).
				want := []gdal.Size{{Width: 350, Height: 225}, {Width: 175, Height: 113}, {Width: 88, Height: 57}}
				if got := r.Info().Overviews; !slices.Equal(got, want) {
					t.Fatalf("overviews %v, want %v", got, want)
				}
			}
			// Columns divide by 4, rows don't: the overview of 113 rows has rows of
			// 3.98 pixels, at most 0.02·90 pixels out of place in the window.
			m := gdal.NewImage[uint8](100, 90, 3)
			if err := gdal.Read(r, gdal.Window{X: 80, Y: 40, Width: 400, Height: 360}, gdal.Average, m); err != nil {
				t.Fatal(err)
			}
			for i, v := range m.Pix {
				x, y := 80+4*(i/3%100), 40+4*(i/300)
				if d := math.Abs(float64(v) - mean(x, y, 4, i%3)); d > 3 {
					t.Fatalf("pixel %d, %d is %d, %.1f off", x, y, v, d)
				}
			}
		})
	}
}

// TestNoDataIsOfAllBands takes no dark red for a hole.
func TestNoDataIsOfAllBands(t *testing.T) {
	folder := t.TempDir()
	path := filepath.Join(folder, "a.tif")
	source := write(t, "a.ppm", "P6\n3 1\n255\n\x00\x05\x05\x00\x00\x00\x01\x01\x01")
	run(t, "gdal_translate", "-q", "-a_nodata", "0", source, path)
	r := open(t, path)
	if i := r.Info(); !i.HasNoData || i.NoData != 0 || i.Placed {
		t.Errorf("read %+v", i)
	}
	m := gdal.NewImage[uint8](3, 1, 3)
	if err := gdal.Read(r, gdal.Window{Width: 3, Height: 1}, gdal.Nearest, m); err != nil {
		t.Fatal(err)
	}
	if !slices.Equal(m.Mask, []uint8{255, 0, 255}) {
		t.Errorf("mask %v", m.Mask)
	}
}

// TestLuma reads colours as grey.
func TestLuma(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.tif")
	run(t, "gdal_translate", "-q", write(t, "a.ppm", "P6\n4 1\n255\n\xff\x00\x00\x00\xff\x00\x00\x00\xff\xff\xff\xff"), path)
	m := gdal.NewImage[uint8](4, 1, 1)
	if err := gdal.Read(open(t, path), gdal.Window{Width: 4, Height: 1}, gdal.Nearest, m); err != nil {
		t.Fatal(err)
	}
	// ITU-R BT.601: 0.299, 0.587, 0.114 of 255.
	if !slices.Equal(m.Pix, []uint8{76, 150, 29, 255}) {
		t.Errorf("luma %v", m.Pix)
	}
}

// TestWindowsAnywhere reads windows inside, across and outside of the raster, at
// any size, and compares each with its pixels.
func TestWindowsAnywhere(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.tif")
	run(t, "gdal_translate", append(append([]string{"-q", "-co", "TILED=YES", "-co", "COMPRESS=DEFLATE"}, place...), picture(t, 3, 255), path)...)
	r := open(t, path)
	rapid.Check(t, func(t *rapid.T) {
		w, h := rapid.IntRange(1, 90).Draw(t, "w"), rapid.IntRange(1, 90).Draw(t, "h")
		x, y := rapid.IntRange(-100, 750).Draw(t, "x"), rapid.IntRange(-100, 500).Draw(t, "y")
		m := gdal.NewImage[uint8](w, h, 3)
		if err := gdal.Read(r, gdal.Window{X: float64(x), Y: float64(y), Width: float64(w), Height: float64(h)}, gdal.Bilinear, m); err != nil {
			t.Fatal(err)
		}
		for i, there := range m.Mask {
			px, py := x+i%w, y+i/w
			in := px >= 0 && py >= 0 && px < width && py < height
			if in != (there == 255) {
				t.Fatalf("mask %d at %d, %d", there, px, py)
			}
			for c := range 3 {
				if want := uint8(math.Round(value(px, py, c))); in && m.Pix[3*i+c] != want || !in && m.Pix[3*i+c] != 0 {
					t.Fatalf("sample %d at %d, %d", m.Pix[3*i+c], px, py)
				}
			}
		}
	})
}

// TestFractions reads windows between pixels, larger and smaller than theirs.
func TestFractions(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.tif")
	run(t, "gdal_translate", append(append([]string{"-q", "-ot", "Float32"}, place...), picture(t, 1, 255), path)...)
	r := open(t, path)
	for _, c := range []struct {
		w         gdal.Window
		tolerance float64
	}{
		{gdal.Window{X: 100.5, Y: 100.25, Width: 60, Height: 60}, 1.1},
		{gdal.Window{X: 100.3, Y: 200.7, Width: 15, Height: 15}, 1.1},
		{gdal.Window{X: 0.25, Y: 300.7, Width: 3.75, Height: 3.75}, 1.8},
		{gdal.Window{X: 690.1, Y: 440.1, Width: 9.9, Height: 9.9}, 1.8},
	} {
		t.Run(fmt.Sprint(c.w), func(t *testing.T) {
			m := gdal.NewImage[float32](60, 60, 1)
			if err := gdal.Read(r, c.w, gdal.Bilinear, m); err != nil {
				t.Fatal(err)
			}
			for i, v := range m.Pix {
				u := c.w.X + (float64(i%60)+0.5)*c.w.Width/60 - 0.5
				y := c.w.Y + (float64(i/60)+0.5)*c.w.Height/60 - 0.5
				if d := math.Abs(float64(v) - smooth(u, y, 0)); d > c.tolerance {
					t.Fatalf("pixel %d at %.2f, %.2f is %.2f off", i, u, y, d)
				}
			}
		})
	}
}

// TestSenselessWindows are errors before GDAL sees them.
func TestSenselessWindows(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.tif")
	run(t, "gdal_translate", "-q", picture(t, 1, 255), path)
	r := open(t, path)
	good := gdal.NewImage[uint8](4, 4, 1)
	for _, w := range []gdal.Window{
		{},
		{Width: 1},
		{Width: -1, Height: 1},
		{X: math.NaN(), Width: 1, Height: 1},
		{Width: math.Inf(1), Height: 1},
		{X: 1e300, Width: 1, Height: 1},
		{Width: 1e10, Height: 1},
	} {
		if err := gdal.Read(r, w, gdal.Nearest, good); !errors.Is(err, gdal.ErrWindow) {
			t.Errorf("%v gives %v", w, err)
		}
	}
	for _, m := range []*gdal.Image[uint8]{
		{},
		{Width: 4, Height: 4, Channels: 1},
		{Width: 1 << 31, Height: 1 << 31, Channels: 1},
		{Width: -4, Height: -4, Channels: 1, Mask: make([]uint8, 16), Pix: make([]uint8, 16)},
		{Width: 4, Height: 4, Channels: 2, Mask: make([]uint8, 16), Pix: make([]uint8, 32)},
	} {
		if err := gdal.Read(r, gdal.Window{Width: 4, Height: 4}, gdal.Nearest, m); !errors.Is(err, gdal.ErrWindow) {
			t.Errorf("an image of %d × %d × %d gives %v", m.Width, m.Height, m.Channels, err)
		}
	}
}

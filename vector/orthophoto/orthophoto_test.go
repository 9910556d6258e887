package orthophoto_test

import (
	"context"
	"errors"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/paulmach/orb"

	"quoin/vector"
	"quoin/vector/crs"
	"quoin/vector/gdal"
	"quoin/vector/imagecheck"
	"quoin/vector/orthophoto"
)

var utm = vector.CRS{Kind: vector.ProjectedCRS, Authority: "EPSG", Code: 25832, Horizontal: vector.Metre}

// write makes an image of 200 by 200 pixels of 0.1 m whose upper left corner is
// at (500000, 5800020), of 16 bits, with a bright square of 10 m whose corners
// are at whole metres and a place without anything.
func write(t *testing.T, c vector.CRS) string {
	t.Helper()
	if !gdal.Built {
		t.Skip(gdal.ErrNotBuilt)
	}
	path := filepath.Join(t.TempDir(), "image.tif")
	err := gdal.WriteTiled(path, gdal.Creation{
		Size: gdal.Size{Width: 200, Height: 200}, Channels: 1, Alpha: true, Depth: gdal.Uint16,
		GeoTransform: gdal.GeoTransform{500000, 0.1, 0, 5800020, 0, -0.1}, CRS: c, Compression: gdal.Deflate,
	}, func(w *gdal.Writer) error {
		m := gdal.NewImage[uint16](200, 200, 1)
		for i := range m.Pix {
			x, y := i%200, i/200
			m.Mask[i], m.Pix[i] = 255, uint16(1000+17*((x*7+y*13)%11))
			if x >= 50 && x < 150 && y >= 50 && y < 150 {
				m.Pix[i] += 9000
			}
			if x < 10 && y < 10 {
				m.Mask[i] = 0
			}
		}
		return gdal.Write(w, 0, 0, m)
	})
	if err != nil {
		t.Fatal(err)
	}
	return path
}

func square(shift float64) orb.Polygon {
	return orb.Polygon{{{500005 + shift, 5800005}, {500015 + shift, 5800005}, {500015 + shift, 5800015}, {500005 + shift, 5800015}, {500005 + shift, 5800005}}}
}

func TestPlaceAndWindow(t *testing.T) {
	img, err := orthophoto.Open(write(t, utm), orthophoto.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer img.Close()
	if _, err := img.On(utm, orb.Point{500010, 5800010}, orthophoto.Options{}); err != nil {
		t.Fatal(err)
	}
	if col, row, err := img.Place(orb.Point{500005, 5800018}); err != nil || math.Abs(col-50) > 1e-6 || math.Abs(row-20) > 1e-6 {
		t.Errorf("place is %v, %v, %v, want 50, 20", col, row, err)
	}
	w, err := img.Window(-2, -2, 60, 60)
	if err != nil {
		t.Fatal(err)
	}
	for at, want := range map[[2]int]bool{{0, 0}: false, {5, 5}: false, {30, 2}: true, {59, 59}: true} {
		if got := w.Valid[at[1]*60+at[0]]; got != want {
			t.Errorf("pixel %v valid is %v, want %v", at, got, want)
		}
	}
	if v := w.Values[59*60+59]; v < 9000 {
		t.Errorf("the square is %v dark", v)
	}
	if w, err = img.Window(5000, 0, 4, 4); err != nil || w.Valid[0] {
		t.Errorf("beside the image: %v, %v", w.Valid, err)
	}
}

// TestCheckFindsTheShift checks a layer 0.13 m west of the image, in the image's
// CRS, in another zone, and with an image that names no CRS.
func TestCheckFindsTheShift(t *testing.T) {
	zone33, err := crs.Parse("EPSG:25833")
	if err != nil {
		t.Fatal(err)
	}
	to33, err := crs.NewTransformer(utm, zone33, orb.Point{500010, 5800010}, crs.Options{})
	if err != nil {
		t.Fatal(err)
	}
	there := square(-0.13)
	for i, p := range there[0] {
		if there[0][i], err = to33.Forward(p); err != nil {
			t.Fatal(err)
		}
	}
	// Grid north of zone 33 is turned against that of zone 32 by the difference of
	// their convergences, some 4.7 degrees here.
	ahead, err := to33.Forward(orb.Point{500010, 5800010})
	if err != nil {
		t.Fatal(err)
	}
	east, err := to33.Forward(orb.Point{500010.13, 5800010})
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name    string
		image   vector.CRS
		polygon orb.Polygon
		layer   vector.CRS
		want    [2]float64
	}{
		{"same CRS", utm, square(-0.13), utm, [2]float64{0.13, 0}},
		{"another zone", utm, there, zone33, [2]float64{east[0] - ahead[0], east[1] - ahead[1]}},
		{"no CRS", vector.CRS{}, square(-0.13), utm, [2]float64{0.13, 0}},
	} {
		t.Run(c.name, func(t *testing.T) {
			l := orthophoto.Layer{Edges: imagecheck.EdgesOf("a", c.polygon, 5), CRS: c.layer}
			r, _, err := orthophoto.Check(context.Background(), write(t, c.image), l, orthophoto.Options{}, imagecheck.Options{})
			if err != nil {
				t.Fatal(err)
			}
			if math.Abs(float64(r.East)-c.want[0]) > 0.01 || math.Abs(float64(r.North)-c.want[1]) > 0.01 {
				t.Errorf("shift %.4f, %.4f, want %.4f, %.4f", r.East, r.North, c.want[0], c.want[1])
			}
		})
	}
}

func TestOpenRefuses(t *testing.T) {
	if !gdal.Built {
		if _, err := orthophoto.Open("any.tif", orthophoto.Options{}); err == nil {
			t.Error("an image was opened without GDAL")
		}
		return
	}
	folder := t.TempDir()
	garbage := filepath.Join(folder, "garbage.tif")
	if err := os.WriteFile(garbage, []byte("II*\x00 and no directory"), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := orthophoto.Open(garbage, orthophoto.Options{}); err == nil || strings.Contains(err.Error(), "\n") {
		t.Errorf("garbage: %v", err)
	}
	if _, err := orthophoto.Open(filepath.Join(folder, "none.tif"), orthophoto.Options{}); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("no file: %v", err)
	}
}

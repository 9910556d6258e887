package nadir_test

import (
	"context"
	"errors"
	"fmt"
	"iter"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"pgregory.net/rapid"

	"quoin/extract/cloud"
	"quoin/extract/nadir"
	"quoin/vector/gdal"
)

// points are a source in memory.
type points struct {
	batch cloud.Batch
	err   error
}

func (p *points) Info() cloud.Info { return cloud.Info{} }

func (p *points) Batches(context.Context) iter.Seq2[*cloud.Batch, error] {
	return func(yield func(*cloud.Batch, error) bool) {
		if yield(&p.batch, nil) && p.err != nil {
			yield(nil, p.err)
		}
	}
}

// add appends a point with a colour and an intensity.
func (p *points) add(x, y, z float64, r, g, b, intensity uint16) {
	c := &p.batch
	c.X, c.Y, c.Z = append(c.X, x), append(c.Y, y), append(c.Z, z)
	c.Red, c.Green, c.Blue = append(c.Red, r), append(c.Green, g), append(c.Blue, b)
	c.Intensity = append(c.Intensity, intensity)
	c.Class, c.Flags = append(c.Class, 0), append(c.Flags, 0)
}

// picture is an image put together.
type picture struct {
	*gdal.Image[uint8]
	kind nadir.Kind
}

func draw(t testing.TB, o nadir.Options, sources ...cloud.Source) picture {
	t.Helper()
	m, err := nadir.Read(context.Background(), sources, o)
	if err != nil {
		t.Fatal(err)
	}
	defer m.Close()
	out := gdal.NewImage[uint8](o.Columns, o.Rows, m.Kind().Channels())
	err = m.Draw(context.Background(), func(column, row int, tile *gdal.Image[uint8]) error {
		for y := range tile.Height {
			to, from := (row+y)*out.Width+column, y*tile.Width
			copy(out.Mask[to:to+tile.Width], tile.Mask[from:])
			n := out.Channels
			copy(out.Pix[to*n:(to+tile.Width)*n], tile.Pix[from*n:])
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return picture{out, m.Kind()}
}

func options(columns, rows int, t testing.TB) nadir.Options {
	return nadir.Options{
		Grid:       nadir.Grid{Pixel: 1, Columns: columns, Rows: rows, Row0: -rows},
		Horizontal: 1, Vertical: 1, Memory: nadir.DefaultMemory, Folder: t.TempDir(),
	}
}

// TestHighestPointCounts draws the highest of the points in a pixel, whatever
// their order, and of two as high the brighter.
func TestHighestPointCounts(t *testing.T) {
	p := &points{}
	p.add(0.5, 0.5, 10, 1, 2, 3, 0)
	p.add(0.6, 0.4, 12, 4, 5, 6, 0)
	p.add(0.1, 0.9, 11, 7, 8, 9, 0)
	p.add(1.5, 0.5, 10, 10, 20, 30, 0)
	p.add(1.5, 0.5, 10, 10, 21, 0, 0)
	p.add(2.5, 0.5, 50, 99, 99, 99, 0) // withheld
	p.batch.Flags[5] = cloud.Withheld
	p.add(2.5, 0.5, 50, 98, 98, 98, 0) // high noise
	p.batch.Class[6] = 18
	p.add(2.5, 0.5, math.NaN(), 97, 97, 97, 0)
	p.add(2.5, 0.5, 1, 11, 12, 13, 0)
	p.add(-5, 0.5, 1, 96, 96, 96, 0) // beside the image
	p.add(math.NaN(), 0.5, 1, 95, 95, 95, 0)
	got := draw(t, options(3, 1, t), p)
	if want := []uint8{4, 5, 6, 10, 21, 0, 11, 12, 13}; !slices.Equal(got.Pix, want) || got.kind != nadir.Colour {
		t.Errorf("drawn %v, want %v", got.Pix, want)
	}
}

// TestColoursOf16Bits are drawn in 8.
func TestColoursOf16Bits(t *testing.T) {
	p := &points{}
	p.add(0.5, 0.5, 10, 0xffff, 0x8000, 0x00ff, 0)
	if got := draw(t, options(1, 1, t), p); !slices.Equal(got.Pix, []uint8{255, 128, 0}) {
		t.Errorf("drawn %v", got.Pix)
	}
}

// TestOneFileWithoutColour has all drawn by intensity: half a picture in colour
// misleads.
func TestOneFileWithoutColour(t *testing.T) {
	coloured, black, empty := &points{}, &points{}, &points{}
	for i := range 100 {
		coloured.add(float64(i%10)+0.5, float64(i/10)+0.5, 1, 9, 9, 9, uint16(i))
		black.add(float64(i%10)+10.5, float64(i/10)+0.5, 1, 0, 0, 0, uint16(i))
	}
	if got := draw(t, options(20, 10, t), coloured, empty); got.kind != nadir.Colour {
		t.Errorf("drawn by %s", got.kind)
	}
	got := draw(t, options(20, 10, t), coloured, black)
	// On level ground the light is cos 45°; the weakest echo, in the south-west of
	// the second file, has a quarter of the strongest, in its north-east.
	level := 255 * (0.2 + 0.75/math.Sqrt2)
	if got.kind != nadir.Intensity || math.Abs(float64(got.Pix[19])-level) > 1 || math.Abs(float64(got.Pix[190])-level/4) > 1 {
		t.Errorf("drawn by %s, %d and %d", got.kind, got.Pix[19], got.Pix[190])
	}
}

// TestGaps closes gaps up to eight pixels wide and leaves larger ones, whose rims
// stay where the points end.
func TestGaps(t *testing.T) {
	const w, h = 60, 40
	p := &points{}
	empty := func(x, y int) bool {
		small := x >= 10 && x < 18 && y >= 10 && y < 30
		large := x >= 30 && x < 42 && y >= 10 && y < 30
		return small || large || x < 3
	}
	for y := range h {
		for x := range w {
			if !empty(x, y) {
				p.add(float64(x)+0.5, float64(y)+0.5, 1, 7, 7, 7, 0)
			}
		}
	}
	got := draw(t, options(w, h, t), p)
	var seen strings.Builder
	for y := range h {
		for x := range w {
			large := x < 3 || x >= 30 && x < 42 && y >= 10 && y < 30
			if (got.Mask[y*w+x] == 0) != large {
				// A disc does not reach into corners: they are rounded.
				corner := math.Hypot(math.Max(math.Abs(float64(x)-35.5)-1.5, 0), math.Max(math.Abs(float64(y)-19.5)-5.5, 0)) > 4
				if !large || x < 3 || !corner {
					fmt.Fprintf(&seen, "%d,%d ", x, y)
				}
			}
		}
	}
	if seen.Len() > 0 {
		t.Errorf("wrong at %s", seen.String())
	}
}

// TestTilesDoNotShow draws the same points in tiles that lie otherwise, in
// another order, and with memory for nine tiles: the pixels are the same.
func TestTilesDoNotShow(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 4))
	p := &points{}
	const size = 2600
	for range 60000 {
		// A band across the image, in which points lie as close as in clouds.
		x := random.Float64() * size
		y := 500 + x/2 + 20*random.Float64()
		p.add(x, y, 10+3*math.Sin(x/7)+random.Float64(), 0, 0, 0, uint16(random.IntN(4000)))
	}
	o := options(size, size, t)
	want := draw(t, o, p)
	if want.kind != nadir.Intensity {
		t.Fatalf("drawn by %s", want.kind)
	}
	q := &points{}
	for _, i := range random.Perm(len(p.batch.X)) {
		b := p.batch
		q.add(b.X[i], b.Y[i], b.Z[i], 0, 0, 0, b.Intensity[i])
	}
	o.Memory = 0
	if got := draw(t, o, q); !slices.Equal(got.Pix, want.Pix) || !slices.Equal(got.Mask, want.Mask) {
		t.Error("order or memory change the image")
	}
	const shift = 123
	o.Column0, o.Row0 = o.Column0-shift, o.Row0-shift
	o.Columns, o.Rows = o.Columns+shift, o.Rows+shift
	got := draw(t, o, p)
	for y := range size {
		a, b := want.Mask[y*size:][:size], got.Mask[(y+shift)*o.Columns+shift:][:size]
		c, d := want.Pix[y*size:][:size], got.Pix[(y+shift)*o.Columns+shift:][:size]
		if !slices.Equal(a, b) || !slices.Equal(c, d) {
			t.Fatalf("row %d differs when tiles lie otherwise", y)
		}
	}
}

// TestWindow draws the same as the whole, wherever the window lies.
func TestWindow(t *testing.T) {
	random := rand.New(rand.NewPCG(7, 8))
	p := &points{}
	const size = 1200
	for range 400000 {
		p.add(random.Float64()*size, 300+random.Float64()*500, random.Float64(), 0, 0, 0, uint16(random.IntN(4000)))
	}
	o := options(size, size, t)
	whole := draw(t, o, p)
	m, err := nadir.Read(context.Background(), []cloud.Source{p}, o)
	if err != nil {
		t.Fatal(err)
	}
	defer m.Close()
	for range 40 {
		column, row := random.IntN(1400)-200, random.IntN(1400)-200
		w, h := 1+random.IntN(300), 1+random.IntN(700)
		got, err := m.Window(column, row, w, h)
		if err != nil {
			t.Fatal(err)
		}
		for i := range got.Mask {
			x, y := column+i%w, row+i/w
			var mask, pix uint8
			if x >= 0 && y >= 0 && x < size && y < size {
				mask, pix = whole.Mask[y*size+x], whole.Pix[y*size+x]
			}
			if got.Mask[i] != mask || got.Pix[i] != pix {
				t.Fatalf("pixel %d, %d differs", x, y)
			}
		}
	}
}

// TestRelief is light on slopes to the north-west and dark on the others; echoes
// all alike are not drawn.
func TestRelief(t *testing.T) {
	p := &points{}
	for y := range 30 {
		for x := range 30 {
			// A roof along the diagonal from south-west to north-east.
			z := 10 - math.Abs(float64(x)-float64(y))/math.Sqrt2
			p.add(float64(x)+0.5, float64(y)+0.5, z, 0, 0, 0, 500)
		}
	}
	got := draw(t, options(30, 30, t), p)
	// The light comes from 45 degrees: the slope that faces it has 1, the other 0,
	// so 0.95 and 0.2 of 255 (cosine of the angle of incidence, Lambert).
	northWest, southEast := got.Pix[8*30+8], got.Pix[21*30+21]
	if got.kind != nadir.Height || math.Abs(float64(northWest)-0.95*255) > 1.5 || math.Abs(float64(southEast)-0.2*255) > 1.5 {
		t.Errorf("%s, light %d and %d", got.kind, northWest, southEast)
	}
}

// TestErrorsOfSources come back.
func TestErrorsOfSources(t *testing.T) {
	stop := errors.New("stop")
	p := &points{err: stop}
	if _, err := nadir.Read(context.Background(), []cloud.Source{p}, options(1, 1, t)); !errors.Is(err, stop) {
		t.Errorf("the error is %v", err)
	}
	p.err = nil
	p.add(0.5, 0.5, 1, 0, 0, 0, 0)
	m, err := nadir.Read(context.Background(), []cloud.Source{p}, options(1, 1, t))
	if err != nil {
		t.Fatal(err)
	}
	defer m.Close()
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if err := m.Draw(ctx, nil); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
}

func TestRoundPixel(t *testing.T) {
	for _, c := range []struct{ spacing, want float64 }{
		{0.13, 0.1}, {0.1, 0.1}, {0.2, 0.2}, {0.24, 0.2}, {0.25, 0.25}, {0.49, 0.25}, {0.5, 0.5}, {0.99, 0.5}, {1, 1}, {1.64, 1}, {0.0999999999999, 0.1},
	} {
		if got := nadir.RoundPixel(c.spacing); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("RoundPixel(%v) = %v, want %v", c.spacing, got, c.want)
		}
	}
}

// TestGridHoldsItsPlace has grids cover what they were made for, with less than a
// pixel to spare, at coordinates of any size.
func TestGridHoldsItsPlace(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x, y := rapid.Float64Range(-1e7, 1e7).Draw(t, "x"), rapid.Float64Range(-1e7, 1e7).Draw(t, "y")
		w, h := rapid.Float64Range(0, 1e4).Draw(t, "w"), rapid.Float64Range(0, 1e4).Draw(t, "h")
		pixel := nadir.RoundPixel(rapid.Float64Range(0.01, 10).Draw(t, "pixel"))
		b := orb.Bound{Min: orb.Point{x, y}, Max: orb.Point{x + w, y + h}}
		got := nadir.NewGrid(b, pixel).Bound()
		const rounding = 1e-8
		for i := range 2 {
			low, high := b.Min[i]-got.Min[i], got.Max[i]-b.Max[i]
			if low < -rounding || high < -rounding || low > pixel+rounding || high > pixel+rounding {
				t.Fatalf("%v holds %v", got, b)
			}
			if n := got.Min[i] / pixel; math.Abs(n-math.Round(n)) > 1e-6 {
				t.Fatalf("edge at %v pixels", n)
			}
		}
	})
}

func BenchmarkImage(b *testing.B) {
	random := rand.New(rand.NewPCG(5, 6))
	p := &points{}
	for range 1_000_000 {
		p.add(random.Float64()*1000, random.Float64()*1000, random.Float64(), 1, 2, 3, 0)
	}
	o := options(1000, 1000, b)
	b.ReportAllocs()
	for b.Loop() {
		m, err := nadir.Read(context.Background(), []cloud.Source{p}, o)
		if err != nil {
			b.Fatal(err)
		}
		err = m.Draw(context.Background(), func(int, int, *gdal.Image[uint8]) error { return nil })
		if err != nil {
			b.Fatal(err)
		}
		m.Close()
	}
	b.ReportMetric(float64(len(p.batch.X)*b.N)/b.Elapsed().Seconds(), "points/s")
}

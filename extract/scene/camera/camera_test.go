package camera

import (
	"context"
	"errors"
	"math"
	"testing"

	"quoin/extract/scene/light"
	"quoin/extract/scene/solid"
)

var (
	white = solid.Surface{Class: solid.Roof, Red: 200, Green: 200, Blue: 200}
	grass = solid.Surface{Class: solid.Terrain, Red: 60, Green: 90, Blue: 50}
)

// world is a flat field with one block on it, 10 m high, from east 40 to 45.03 m.
func world() *solid.World {
	flat := solid.GridOf([2]solid.Point{{X: -100, Y: -100}, {X: 100, Y: 100}}, 1,
		func(solid.Point) float64 { return 0 }, func(solid.Point) solid.Surface { return grass })
	plan := []solid.Point{{X: 40, Y: -5}, {X: 45.03, Y: -5}, {X: 45.03, Y: 5}, {X: 40, Y: 5}}
	return solid.NewWorld(flat, []solid.Body{solid.Block(plan, -1, 10, white)})
}

// image renders rows about north 0 from east x0, in pixels of a decimetre.
func image(t *testing.T, c *Camera, x0 float64, width, workers int) []byte {
	t.Helper()
	const height, pixel = 300, 0.1
	var out []byte
	f := Frame{Width: width, Height: height, Seed: 3, Ground: func(col, row float64) (solid.Point, bool) {
		return solid.Point{X: x0 + pixel*col, Y: (height/2 - row) * pixel}, true
	}}
	err := c.Render(context.Background(), f, workers, func(rgba []byte) error {
		out = append(out, rgba...)
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if len(out) != 4*width*height {
		t.Fatalf("%d bytes, want %d", len(out), 4*width*height)
	}
	return out
}

// east returns where the red of a row falls half way from the roof's at the left
// to the field's at the right, in metres, in the mean of twenty rows.
func east(img []byte, x0 float64, width int) float64 {
	sum := 0.0
	for row := 160; row < 180; row++ { // south of the edge of a shadow
		red := func(col int) float64 { return float64(img[4*(row*width+col)]) }
		half := (red(8) + red(width-8)) / 2
		col := 8
		for red(col+1) > half {
			col++
		}
		half = (red(col-2) + red(col+3)) / 2 // the grain of what is close by
		for red(col+1) > half {
			col++
		}
		sum += float64(col) + 0.5 + (red(col)-half)/(red(col)-red(col+1))
	}
	return x0 + 0.1*sum/20
}

func TestTrueOrthoShowsEdgesWhereTheyAre(t *testing.T) {
	c := &Camera{World: world(), Sun: light.New(1)}
	if got := east(image(t, c, 43.5, 30, 1), 43.5, 30); math.Abs(got-45.03) > 0.01 {
		t.Errorf("edge at %.4f m, want 45.03", got)
	}
}

// TestReliefDisplacement is the formula of the handbooks, d = R·h/(H − h) for a
// radius on the map: a roof 10 m above the ground, 45.03 m from the nadir of a
// camera 100 m up, leans outward by 5.0033 m (Kraus, Photogrammetry; from
// memory).
func TestReliefDisplacement(t *testing.T) {
	c := &Camera{World: world(), Sun: light.New(1), Nadirs: []solid.Point{{}}, Elevation: 100}
	want := 45.03 + 45.03*10/(100-10)
	if got := east(image(t, c, 48.5, 30, 1), 48.5, 30); math.Abs(got-want) > 0.01 {
		t.Errorf("edge at %.4f m, want %.4f", got, want)
	}
}

func TestNearestExposureCounts(t *testing.T) {
	c := &Camera{World: world(), Sun: light.New(1), Nadirs: []solid.Point{{}, {X: 45.03, Y: 0}}, Elevation: 100}
	if got := east(image(t, c, 43.5, 30, 1), 43.5, 30); math.Abs(got-45.03) > 0.01 {
		t.Errorf("edge under the camera at %.4f m, want 45.03", got)
	}
}

func TestSameImageForAnyWorkers(t *testing.T) {
	c := &Camera{World: world(), Sun: light.New(1)}
	if string(image(t, c, 38, 40, 1)) != string(image(t, c, 38, 40, 3)) {
		t.Error("the image depends on the number of workers")
	}
}

func TestShadowLiesAwayFromTheSun(t *testing.T) {
	c := &Camera{World: world(), Sun: light.New(1)}
	img := image(t, c, 30, 400, 2)
	red := func(x, y float64) byte { return img[4*(int((15-y)/0.1)*400+int((x-30)/0.1))] }
	if lit, dark := red(38, 0), red(47, 2); float64(dark) > 0.7*float64(lit) {
		t.Errorf("red is %d in the shadow and %d in the light", dark, lit)
	}
}

func TestNothingShownIsTransparent(t *testing.T) {
	c := &Camera{World: world(), Sun: light.New(1)}
	f := Frame{Width: 4, Height: 2, Ground: func(col, _ float64) (solid.Point, bool) { return solid.Point{X: col}, col < 2 }}
	err := c.Render(context.Background(), f, 1, func(rgba []byte) error {
		for i, want := range []byte{255, 255, 0, 0} {
			if rgba[4*i+3] != want {
				t.Errorf("alpha of pixel %d is %d, want %d", i, rgba[4*i+3], want)
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}

func TestRenderStops(t *testing.T) {
	c := &Camera{World: world(), Sun: light.New(1)}
	f := Frame{Width: 8, Height: 2000, Ground: func(col, row float64) (solid.Point, bool) { return solid.Point{X: col, Y: -row / 100}, true }}
	full := errors.New("full")
	if err := c.Render(context.Background(), f, 2, func([]byte) error { return full }); !errors.Is(err, full) {
		t.Errorf("got %v, want the error of take", err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if err := c.Render(ctx, f, 2, func([]byte) error { cancel(); return nil }); !errors.Is(err, context.Canceled) {
		t.Errorf("got %v, want cancelled", err)
	}
}

package extract_test

import (
	"context"
	"math"
	"path/filepath"
	"testing"

	"quoin/extract"
	"quoin/extract/scene"
	"quoin/vector"
	"quoin/vector/gdal"
)

// TestTerrainRasters holds the rasters of a block in feet against the true
// terrain: the level under every pixel, and that only what a roof or water
// hides is stated as interpolated.
func TestTerrainRasters(t *testing.T) {
	if !gdal.Built {
		t.Skip("built without GDAL")
	}
	spec := scene.DefaultSpec("halls")
	spec.Spacing, spec.Unit = 0.7, vector.USSurveyFoot
	block, err := scene.Compose(spec)
	if err != nil {
		t.Fatal(err)
	}
	folder := t.TempDir()
	if _, err := block.Write(context.Background(), folder, 2); err != nil {
		t.Fatal(err)
	}
	o := extract.DefaultOptions()
	o.Inputs, err = filepath.Glob(filepath.Join(folder, "cloud", "*.las"))
	if err != nil {
		t.Fatal(err)
	}
	o.Out, o.Terrain = filepath.Join(folder, "out"), true
	if _, err := extract.Run(context.Background(), o); err != nil {
		t.Fatal(err)
	}
	up, info := wholeRaster[float32](t, filepath.Join(o.Out, "terrain.tif"))
	guessed, second := wholeRaster[uint8](t, filepath.Join(o.Out, "terrain-interpolated.tif"))
	if info.Size != second.Size || info.GeoTransform != second.GeoTransform || info.CRS == "" {
		t.Fatalf("the rasters differ: %+v, %+v", info, second)
	}
	foot := spec.Unit.Metres
	if step := info.GeoTransform[1] * foot; math.Abs(step-1) > 1e-9 {
		t.Errorf("pixels of %v m, want 1 m at 2 points a square metre", step)
	}
	seen, hidden, squares, relief := 0, 0, 0.0, 0.0
	for i, z := range up.Pix {
		x, y := info.GeoTransform.Apply(float64(i%up.Width)+0.5, float64(i/up.Width)+0.5)
		if guessed.Pix[i] != 0 {
			hidden++
			continue
		}
		seen++
		truth := block.Elevation([2]float64{x, y})
		squares += math.Pow((float64(z)-truth)*foot, 2)
		mirrored := block.Elevation([2]float64{x, y + info.GeoTransform[5]*(float64(up.Height)-2*float64(i/up.Width)-1)})
		relief += math.Pow((mirrored-truth)*foot, 2)
	}
	// Range noise is 2 cm, and pixels have a point or two. The same rows from
	// the other end would be off by the relief.
	rms := math.Sqrt(squares / float64(seen))
	if rms > 0.06 || seen < up.Width*up.Height/2 || hidden < 1000 {
		t.Errorf("%d pixels seen, off by %.3f m (rms), %d interpolated", seen, rms, hidden)
	}
	if math.Sqrt(relief/float64(seen)) < 3*rms {
		t.Error("the block is too level to tell rows from each other")
	}
}

func wholeRaster[T gdal.Sample](t *testing.T, path string) (*gdal.Image[T], gdal.Info) {
	t.Helper()
	f, err := gdal.OpenRaster(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	info := f.Info()
	m := gdal.NewImage[T](info.Width, info.Height, 1)
	if err := gdal.Read(f, gdal.Window{Width: float64(info.Width), Height: float64(info.Height)}, gdal.Nearest, m); err != nil {
		t.Fatal(err)
	}
	return m, info
}

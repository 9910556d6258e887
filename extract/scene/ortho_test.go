package scene

import (
	"encoding/json"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"quoin/vector"
)

// small is a block that is flown and photographed in no time.
func small(o *OrthoSpec) Spec {
	s := sparse("street")
	s.Spacing, s.Ortho = 1, o
	return s
}

func TestOrthoIsWrittenWithItsTruth(t *testing.T) {
	o := OrthoSpec{Pixel: 0.5, East: 0.11, North: -0.02}
	dir, _, sum := write(t, small(&o), 2)
	if sum.Ortho != filepath.Join(dir, "ortho.tif") {
		t.Errorf("image in %q", sum.Ortho)
	}
	text, err := os.ReadFile(filepath.Join(dir, "truth", "ortho.json"))
	if err != nil {
		t.Fatal(err)
	}
	var got OrthoSpec
	if err := json.Unmarshal(text, &got); err != nil {
		t.Fatal(err)
	}
	if o.EPSG = 25831; got != o {
		t.Errorf("truth is %+v, want %+v", got, o)
	}
}

// TestGDALReadsTheOrtho asks another reader of GeoTIFF (OGC 19-008r4).
func TestGDALReadsTheOrtho(t *testing.T) {
	gdalinfo, err := exec.LookPath("gdalinfo")
	if err != nil {
		t.Skip("gdalinfo is not installed (make install-test)")
	}
	for _, c := range []struct {
		name string
		spec OrthoSpec
		unit vector.Unit
		want []string
	}{
		{"as the cloud", OrthoSpec{Pixel: 0.5}, vector.Metre, []string{
			`ID["EPSG",25831]`, "Pixel Size = (0.500000000000000,-0.500000000000000)", "COMPRESSION=DEFLATE", "Block=256x256 Type=Byte, ColorInterp=Blue",
		}},
		{"in feet", OrthoSpec{Pixel: 0.3048}, vector.Foot, []string{`ID["EPSG",2269]`, "Pixel Size = (1.000000000000000,-1.000000000000000)"}},
		{"warped", OrthoSpec{Pixel: 0.5, EPSG: 25832}, vector.Metre, []string{`ID["EPSG",25832]`, "ColorInterp=Alpha"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			spec := small(&c.spec)
			spec.Unit = c.unit
			_, _, sum := write(t, spec, 2)
			out, err := exec.Command(gdalinfo, "-stats", sum.Ortho).CombinedOutput()
			if err != nil {
				t.Fatalf("%v\n%s", err, out)
			}
			for _, w := range c.want {
				if !strings.Contains(string(out), w) {
					t.Errorf("gdalinfo does not say %q:\n%s", w, out)
				}
			}
		})
	}
}

// TestWarpedShowsTheSamePlaces compares what an image in another zone shows with
// what PROJ says lies there.
func TestWarpedShowsTheSamePlaces(t *testing.T) {
	s := compose(t, small(nil))
	p, err := s.picture(OrthoSpec{Pixel: 0.5, EPSG: 25832})
	if err != nil {
		t.Fatal(err)
	}
	m, err := s.mapOf(OrthoSpec{EPSG: 25832})
	if err != nil {
		t.Fatal(err)
	}
	for _, at := range [][2]float64{{10, 20}, {150.25, 99.5}, {float64(p.header.Width) / 2, 201}} {
		q, err := m.to.Inverse([2]float64{p.header.Corner[0] + at[0]*p.header.Pixel, p.header.Corner[1] - at[1]*p.header.Pixel})
		if err != nil {
			t.Fatal(err)
		}
		got, _ := p.frame.Ground(at[0], at[1])
		if back := s.datum.position(got); math.Hypot(back[0]-q[0], back[1]-q[1]) > 1e-3 {
			t.Errorf("at %v the image shows %v, want %v", at, back, q)
		}
	}
}

// TestPlantedErrors checks shift, rotation and scale about the block's middle.
func TestPlantedErrors(t *testing.T) {
	s := compose(t, small(nil))
	middle := s.Low.Add(s.High).Scale(0.5)
	o := OrthoSpec{Pixel: 0.5, East: 1, North: 2, Rotation: 90, Scale: 1}
	there := middle
	there.X += 10 // what is here is shown 20 m north of the middle, and shifted
	shown := middle
	shown.X, shown.Y = shown.X+1, shown.Y+20+2
	if got := s.shownAt(o, shown); got.Sub(there).Length() > 1e-9 {
		t.Errorf("the image shows %v, want %v", got, there)
	}
}

func TestOrthoRefuses(t *testing.T) {
	for want, o := range map[string]OrthoSpec{
		"pixels of 0 m":       {},
		"more than 20 m":      {Pixel: 0.1, East: 30},
		"5 degrees":           {Pixel: 0.1, Rotation: 9},
		"too low":             {Pixel: 0.1, Height: 3},
		"10 m apart":          {Pixel: 0.1, Base: 30},
		"no projected CRS":    {Pixel: 0.1, EPSG: 4326},
		"is no CRS":           {Pixel: 0.1, EPSG: 2},
		"ask for larger ones": {Pixel: 0.01},
	} {
		spec := small(&o)
		spec.Extent = [2]float64{400, 400}
		if _, err := Compose(spec); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%+v: got %v, want %q", o, err, want)
		}
	}
}

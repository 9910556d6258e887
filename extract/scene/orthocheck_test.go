package scene

import (
	"context"
	"flag"
	"math"
	"testing"

	"github.com/paulmach/orb"

	"quoin/extract/scene/chance"
	"quoin/extract/scene/solid"
	"quoin/vector/imagecheck"
)

// blocks is the number of blocks whose images are judged; make image-proof does
// 300.
var blocks = flag.Int("blocks", 2, "blocks whose images are judged")

// photoImage is a Photo as the image check reads it.
type photoImage struct{ Photo }

func (p photoImage) Channels() int { return 3 }

func (p photoImage) Place(q orb.Point) (col, row float64, err error) {
	return (q[0] - p.Corner[0]) / p.Pixel, (p.Corner[1] - q[1]) / p.Pixel, nil
}

func (p photoImage) Window(col, row, width, height int) (imagecheck.Window, error) {
	w := imagecheck.Window{Width: width, Height: height, Channels: 3, Values: make([]float32, 3*width*height), Valid: make([]bool, width*height)}
	for i := range width * height {
		x, y := col+i%width, row+i/width
		if x < 0 || y < 0 || x >= p.Width || y >= p.Height {
			continue
		}
		from := p.RGBA[4*(y*p.Width+x):]
		w.Valid[i] = from[3] > 0
		for j := range 3 {
			w.Values[3*i+j] = float32(from[j])
		}
	}
	return w, nil
}

// trueEdges are the roof edges of the truth, each building moved by a random
// error of sigma an axis.
func (s *Scene) trueEdges(sigma float64, draw *chance.Stream) []imagecheck.Edge {
	var edges []imagecheck.Edge
	for _, b := range s.Buildings {
		east, north := sigma*draw.Normal(), sigma*draw.Normal()
		var polygon orb.Polygon
		for _, ring := range b.RoofEdge {
			var r orb.Ring
			for _, p := range ring {
				r = append(r, s.datum.position(p.Add(solid.Point{X: east, Y: north})))
			}
			polygon = append(polygon, r)
		}
		_, _, ground := s.groundAlong(b.RoofEdge)
		edges = append(edges, imagecheck.EdgesOf(b.ID, polygon, b.Eave-ground)...)
	}
	return edges
}

// TestOrthosAreJudged takes images of blocks with planted shifts to 20 cm, half
// of them with lean, some as mosaics. No leaning image may be taken for a
// true-ortho or the reverse; shifts of true-orthos must be right within their
// standard errors and to a tenth of a pixel.
func TestOrthosAreJudged(t *testing.T) {
	var square, pixels, n float64
	count := map[imagecheck.Verdict]map[bool]int{}
	for _, v := range []imagecheck.Verdict{imagecheck.TrueOrtho, imagecheck.ReliefDisplacement, imagecheck.Undecided} {
		count[v] = map[bool]int{}
	}
	for k := range *blocks {
		draw := chance.New(uint64(k), 0x0a7)
		spec := sparse([]string{"suburb", "street"}[k/2%2])
		spec.Seed = uint64(k)
		if k/2%2 == 0 {
			spec.Extent = [2]float64{100, 100}
		}
		s := compose(t, spec)
		o := OrthoSpec{Pixel: 0.1, East: draw.Between(-0.14, 0.14), North: draw.Between(-0.14, 0.14)}
		leaning := k%2 == 1
		if leaning {
			o.Height = draw.Between(80, 400)
			if k%4 == 3 {
				o.Base = o.Height * draw.Between(0.6, 1.2)
			}
		}
		photo, err := s.Photograph(context.Background(), o, 2)
		if err != nil {
			t.Fatal(err)
		}
		edges := s.trueEdges(0.02, draw)
		r, err := imagecheck.Check(context.Background(), photoImage{photo}, edges, imagecheck.Options{Unit: 1})
		if err != nil {
			t.Fatal(err)
		}
		count[r.Lean.Verdict][leaning]++
		if leaning && r.Lean.Verdict == imagecheck.TrueOrtho || !leaning && r.Lean.Verdict == imagecheck.ReliefDisplacement {
			t.Errorf("block %d, camera height %.0f, base %.0f: verdict %s: %s (%.4f ± %.4f)", k, o.Height, o.Base, r.Lean.Verdict, r.Lean.Reason, r.Lean.Slope, r.Lean.Sigma)
		}
		if leaning {
			continue
		}
		for _, v := range [][3]float64{{float64(r.East), o.East, float64(r.SigmaEast)}, {float64(r.North), o.North, float64(r.SigmaNorth)}} {
			z := (v[0] - v[1]) / v[2]
			square, n, pixels = square+z*z, n+1, pixels+(v[0]-v[1])*(v[0]-v[1])/(o.Pixel*o.Pixel)
			if math.Abs(z) > 4.5 {
				t.Errorf("block %d: shift %.4f ± %.4f, want %.4f", k, v[0], v[2], v[1])
			}
		}
	}
	// The footprints' own error of 2 cm is that of 15 to 30 buildings: 0.05 pixels.
	if rms := math.Sqrt(pixels / n); rms > 0.1 {
		t.Errorf("shifts are right to %.3f pixels RMS, want 0.1", rms)
	}
	t.Logf("%d blocks: shifts right to %.3f pixels RMS, squared errors over squared standard errors %.2f; verdicts true-ortho %v, relief displacement %v, undecided %v (by leaning)",
		*blocks, math.Sqrt(pixels/n), square/n, count[imagecheck.TrueOrtho], count[imagecheck.ReliefDisplacement], count[imagecheck.Undecided])
}

// TestFinePixels measures a block with its true outlines on an image of 5 cm
// pixels with shadows: right to a tenth of a pixel over 50 edges and more, which
// is what the docs promise.
func TestFinePixels(t *testing.T) {
	spec := sparse("wings")
	spec.Extent = [2]float64{80, 80}
	s := compose(t, spec)
	o := OrthoSpec{Pixel: 0.05, East: 0.113, North: -0.061}
	photo, err := s.Photograph(context.Background(), o, 2)
	if err != nil {
		t.Fatal(err)
	}
	r, err := imagecheck.Check(context.Background(), photoImage{photo}, s.trueEdges(0, chance.New(1)), imagecheck.Options{Unit: 1})
	if err != nil {
		t.Fatal(err)
	}
	if r.EdgesUsed < 50 {
		t.Errorf("%d edges used", r.EdgesUsed)
	}
	east, north := (float64(r.East)-o.East)/o.Pixel, (float64(r.North)-o.North)/o.Pixel
	if math.Hypot(east, north)/math.Sqrt2 > 0.1 {
		t.Errorf("off by %.3f, %.3f pixels", east, north)
	}
	if math.Abs(float64(r.East)-o.East) > 3*float64(r.SigmaEast) || math.Abs(float64(r.North)-o.North) > 3*float64(r.SigmaNorth) {
		t.Errorf("shift %.4f ± %.4f, %.4f ± %.4f, want %.3f, %.3f", r.East, r.SigmaEast, r.North, r.SigmaNorth, o.East, o.North)
	}
}

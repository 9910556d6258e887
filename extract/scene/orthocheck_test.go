package scene

import (
	"context"
	"flag"
	"math"
	"testing"

	"quoin/extract/scene/house"

	"github.com/paulmach/orb"

	"quoin/extract/scene/chance"
	"quoin/extract/scene/solid"
	"quoin/vector/imagecheck"
)

// blocks is the number of blocks whose images are judged; make image-proof does
// 300.
var (
	blocks = flag.Int("blocks", 2, "blocks whose images are judged")
	first  = flag.Int("first", 0, "first of the blocks")
	layers = flag.Int("layers", 1, "layers, with errors of their own, that are laid over each image")
)

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

// A layer is the roof edges of the truth as somebody might have measured them.
type layer struct {
	edges []imagecheck.Edge
	// moved is the error of each building, the same for all of its edges.
	moved []solid.Point
}

// trueEdges are the roof edges of the truth, each building moved by a random
// error of sigma an axis, with their true heights along them.
func (s *Scene) trueEdges(sigma float64, draw *chance.Stream) layer {
	var l layer
	for _, b := range s.Buildings {
		by := solid.Point{X: sigma * draw.Normal(), Y: sigma * draw.Normal()}
		var polygon orb.Polygon
		for _, ring := range b.RoofEdge {
			var r orb.Ring
			for _, p := range ring {
				r = append(r, s.datum.position(p.Add(by)))
			}
			polygon = append(polygon, r)
		}
		_, _, ground := s.groundAlong(b.RoofEdge)
		edges := imagecheck.EdgesOf(b.ID, polygon, b.Eave-ground)
		for i := range edges {
			s.giveHeights(&edges[i], b, by)
		}
		l.edges, l.moved = append(l.edges, edges...), append(l.moved, by)
	}
	return l
}

// giveHeights fills in how high above the ground below it an edge is along it.
func (s *Scene) giveHeights(e *imagecheck.Edge, b *house.Building, moved solid.Point) {
	const steps = 24
	from, to := s.local(e.From).Sub(moved), s.local(e.To).Sub(moved)
	for i := range steps + 1 {
		const inward = 0.01 // metres: on the outline itself rounding decides
		d := to.Sub(from)
		p := from.Add(d.Scale((float64(i)*0.98 + 0.01*steps) / steps))
		p = p.Add(solid.Point{X: -d.Y, Y: d.X}.Scale(inward / d.Length()))
		e.Heights = append(e.Heights, b.EdgeAt(p)-s.World.Terrain.Elevation(p))
	}
}

// local takes a position in the CRS to the scene's metres.
func (s *Scene) local(p orb.Point) solid.Point {
	u := s.datum.crs.Horizontal.Metres
	return solid.Point{X: p[0]*u - s.datum.origin.X, Y: p[1]*u - s.datum.origin.Y}
}

// planted returns where the image shows a place beside where it is.
func (s *Scene) planted(o OrthoSpec, at orb.Point) solid.Point {
	middle := s.Low.Add(s.High).Scale(0.5)
	d := s.local(at).Sub(middle)
	sin, cos := math.Sincos(o.Rotation * math.Pi / 180)
	turned := solid.Point{X: cos*d.X - sin*d.Y, Y: sin*d.X + cos*d.Y}.Scale(1 + o.Scale)
	return turned.Sub(d).Add(solid.Point{X: o.East, Y: o.North})
}

// judged returns block k of the proof and the image that is taken of it: shifts to
// 20 cm, every other pair turned and scaled, every other one leaning, half of
// these as mosaics.
func judged(k int) (Spec, OrthoSpec) {
	draw := chance.New(uint64(k), 0x0a7)
	spec := sparse([]string{"suburb", "street"}[k/2%2])
	spec.Seed = uint64(k)
	if k/2%2 == 0 {
		spec.Extent = [2]float64{100, 100}
	}
	o := OrthoSpec{Pixel: 0.1, East: draw.Between(-0.14, 0.14), North: draw.Between(-0.14, 0.14)}
	if k%2 == 1 {
		o.Height = draw.Between(80, 400)
		if k%4 == 3 {
			o.Base = o.Height * draw.Between(0.6, 1.2)
		}
	}
	if k/4%2 == 1 {
		o.Rotation, o.Scale = draw.Between(-0.1, 0.1), draw.Between(-0.001, 0.001)
	}
	return spec, o
}

// A tally is how errors compare to the standard errors that were stated.
type tally struct{ square, n, pixels, within float64 }

func (t *tally) add(err, sigma, pixel float64) {
	z := err / sigma
	t.square, t.n, t.pixels = t.square+z*z, t.n+1, t.pixels+err*err/(pixel*pixel)
	if math.Abs(z) < 1.96 {
		t.within++
	}
}

// ratio is the mean of squared errors over squared standard errors, 1 for right
// ones; rms the errors in pixels.
func (t *tally) ratio() float64 { return t.square / t.n }
func (t *tally) rms() float64   { return math.Sqrt(t.pixels / t.n) }

// allowed returns by how much the ratio of right standard errors may differ from
// one: by four standard deviations of the mean of χ² with one degree, and by as much
// again for what buildings know of their own scatter (Student's t with 14 degrees:
// variance 14/12).
func (t *tally) allowed() (low, high float64) {
	d := 4 * math.Sqrt(2/t.n)
	return 1 - d, 14.0/12 + d
}

// A proof gathers what images of many blocks said.
type proof struct {
	shift, turn, scale, building tally // of true-orthos
	leaning                      tally // shifts of images with one nadir
	verdicts                     map[string]int
}

// take judges the image of one block. What buildings of the layer are off by is
// most of the error: some layers over one image tell more of the standard errors
// than as many images, and take a tenth of the time.
func (p *proof) take(t *testing.T, k int) {
	spec, o := judged(k)
	s := compose(t, spec)
	photo, err := s.Photograph(context.Background(), o, 2)
	if err != nil {
		t.Fatal(err)
	}
	for j := range *layers {
		keys := []uint64{uint64(k), 0xb0b}
		if j > 0 {
			keys = append(keys, uint64(j))
		}
		p.judge(t, k, o, s, photo, s.trueEdges(0.02, chance.New(keys...)))
	}
}

// judge lays a layer over an image.
func (p *proof) judge(t *testing.T, k int, o OrthoSpec, s *Scene, photo Photo, l layer) {
	r, err := imagecheck.Check(context.Background(), photoImage{photo}, l.edges, imagecheck.Options{Unit: 1})
	if err != nil {
		t.Fatal(err)
	}
	kind := map[bool]string{true: "leaning", false: "upright"}[o.Height > 0]
	p.verdicts[kind+" "+string(r.Lean.Verdict)]++
	if wrong := map[string]imagecheck.Verdict{"leaning": imagecheck.TrueOrtho, "upright": imagecheck.ReliefDisplacement}[kind]; r.Lean.Verdict == wrong {
		t.Errorf("block %d, camera height %.0f, base %.0f: verdict %s: %s (%.4f ± %.4f)", k, o.Height, o.Base, r.Lean.Verdict, r.Lean.Reason, r.Lean.Slope, r.Lean.Sigma)
	}
	if r.Lean.Verdict == imagecheck.Undecided && r.Lean.Reason == "" {
		t.Errorf("block %d: undecided without a reason", k)
	}
	switch {
	case kind == "upright":
		p.upright(t, k, o, s, l, r)
	case o.Base == 0 && r.Lean.Verdict == imagecheck.ReliefDisplacement:
		want := s.planted(o, r.Centre)
		p.leaning.add(float64(r.East)-want.X, float64(r.SigmaEast), o.Pixel)
		p.leaning.add(float64(r.North)-want.Y, float64(r.SigmaNorth), o.Pixel)
	}
}

// upright takes what a true-ortho said of its block and of each building.
func (p *proof) upright(t *testing.T, k int, o OrthoSpec, s *Scene, l layer, r *imagecheck.Result) {
	want := s.planted(o, r.Centre)
	for axis, v := range [2][3]float64{{float64(r.East), want.X, float64(r.SigmaEast)}, {float64(r.North), want.Y, float64(r.SigmaNorth)}} {
		p.shift.add(v[0]-v[1], v[2], o.Pixel)
		if z := (v[0] - v[1]) / v[2]; math.Abs(z) > 4.5 {
			t.Errorf("block %d, axis %d: shift %.4f ± %.4f, want %.4f", k, axis, v[0], v[2], v[1])
		}
	}
	p.turn.add(float64(r.Rotation)-o.Rotation*math.Pi/180, float64(r.SigmaRotation), o.Pixel)
	p.scale.add(float64(r.Scale)-o.Scale, float64(r.SigmaScale), o.Pixel)
	for i, b := range r.Buildings {
		if math.IsNaN(float64(b.East)) {
			continue // not seen
		}
		want := s.planted(o, b.At).Sub(l.moved[i])
		p.building.add(float64(b.East)-want.X, float64(b.SigmaEast), o.Pixel)
		p.building.add(float64(b.North)-want.Y, float64(b.SigmaNorth), o.Pixel)
	}
}

// TestOrthosAreJudged takes images of blocks with planted shifts to 20 cm, rotation,
// scale and lean, and lays layers over them in which each building is 2 cm off on
// either axis. No leaning image may be taken for a true-ortho or the reverse; shifts
// of true-orthos must be right to a tenth of a pixel, and standard errors of blocks
// and of buildings must be those of the errors that are made.
func TestOrthosAreJudged(t *testing.T) {
	p := proof{verdicts: map[string]int{}}
	for k := *first; k < *first+*blocks; k++ {
		p.take(t, k)
	}
	// The footprints' own error of 2 cm is that of 15 to 21 buildings: 0.05 pixels.
	if rms := p.shift.rms(); rms > 0.1 {
		t.Errorf("shifts are right to %.3f pixels RMS, want 0.1", rms)
	}
	for _, v := range []struct {
		what string
		tally
	}{{"shift", p.shift}, {"rotation", p.turn}, {"scale", p.scale}, {"building", p.building}, {"shift beside a lean", p.leaning}} {
		if v.n == 0 {
			continue
		}
		low, high := v.allowed()
		if v.what == "building" || v.what == "shift beside a lean" {
			// Not normal: a gutter taken for the roof in one building of a hundred
			// carries most of the sum, and blocks without one are better than stated.
			low, high = 0.25, high+0.5
		}
		if v.ratio() < low || v.ratio() > high {
			t.Errorf("%s: squared errors over squared standard errors %.2f, want %.2f to %.2f", v.what, v.ratio(), low, high)
		}
		t.Logf("%s: squared errors over squared standard errors %.2f, %.1f %% within 1.96 (%.0f values)", v.what, v.ratio(), 100*v.within/v.n, v.n)
	}
	t.Logf("%d images, each under %d layers: shifts right to %.3f pixels RMS, those of buildings to %.3f, beside a lean to %.3f; verdicts %v", *blocks, *layers, p.shift.rms(), p.building.rms(), p.leaning.rms(), p.verdicts)
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
	r, err := imagecheck.Check(context.Background(), photoImage{photo}, s.trueEdges(0, chance.New(1)).edges, imagecheck.Options{Unit: 1})
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

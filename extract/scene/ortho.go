package scene

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"path/filepath"

	"github.com/paulmach/orb"

	"quoin/extract/scene/camera"
	"quoin/extract/scene/chance"
	"quoin/extract/scene/geotiff"
	"quoin/extract/scene/light"
	"quoin/extract/scene/solid"
	"quoin/vector"
	"quoin/vector/crs"
)

// An OrthoSpec says what image of a block is made. Lengths are metres.
type OrthoSpec struct {
	// Pixel is the side of a pixel.
	Pixel float64 `json:"pixel_m"`
	// East and North are where the image shows things beside where they are:
	// the error of position that is planted.
	East  float64 `json:"shift_east_m"`
	North float64 `json:"shift_north_m"`
	// Rotation turns the image about the block's middle, counter-clockwise;
	// Scale is the factor, less 1, by which it is enlarged about it.
	Rotation float64 `json:"rotation_deg"`
	Scale    float64 `json:"scale_minus_1"`
	// Height is that of a camera above ground whose images were rectified onto
	// the terrain, so that what stands up leans outward from its nadir; 0 makes
	// a true-ortho.
	Height float64 `json:"camera_height_m,omitempty"`
	// Base is the distance of the exposures; each place is taken from the
	// nearest one. 0 is one exposure over the block's middle.
	Base float64 `json:"exposure_base_m,omitempty"`
	// EPSG is the code of the projected CRS of the image; 0 is that of the cloud.
	EPSG int `json:"epsg"`
}

// DefaultOrtho is the image of the demo: pixels of a decimetre, and off by a few
// centimetres, as real ones are.
func DefaultOrtho() OrthoSpec { return OrthoSpec{Pixel: 0.1, East: 0.07, North: -0.04} }

func (o OrthoSpec) validate() error {
	var all []error
	if !(o.Pixel >= 0.01 && o.Pixel <= 2) {
		all = append(all, fmt.Errorf("pixels of %g m are not between 0.01 and 2", o.Pixel))
	}
	if !(math.Hypot(o.East, o.North) <= 20) {
		all = append(all, fmt.Errorf("an image shifted by more than 20 m shows another place"))
	}
	if !(math.Abs(o.Rotation) <= 5) || !(math.Abs(o.Scale) <= 0.05) {
		all = append(all, errors.New("an image is turned by 5 degrees and scaled by 0.05 at most"))
	}
	if !(o.Height == 0 || o.Height >= 60) {
		all = append(all, fmt.Errorf("a camera %g m above ground is too low: give 60 or more", o.Height))
	}
	if o.Base != 0 && !(o.Base >= 10 && o.Height > 0) {
		all = append(all, errors.New("exposures are 10 m apart or more, and lean only shows with a height of the camera"))
	}
	return errors.Join(all...)
}

// A picture is an image about to be rendered.
type picture struct {
	spec   OrthoSpec
	header geotiff.Header
	frame  camera.Frame
}

// writeOrtho renders the image of the spec into dir/ortho.tif and the truth about
// it into dir/truth/ortho.json.
func (s *Scene) writeOrtho(ctx context.Context, dir string, workers int) (string, error) {
	o := *s.Spec.Ortho
	path := filepath.Join(dir, "ortho.tif")
	p, err := s.picture(o)
	if err != nil {
		return "", err
	}
	out, err := geotiff.Create(path, p.header)
	if err != nil {
		return "", err
	}
	if err := s.camera(o).Render(ctx, p.frame, workers, out.Strip); err != nil {
		out.Abort()
		return "", err
	}
	if err := out.Close(); err != nil {
		return "", err
	}
	return path, writeFile(filepath.Join(dir, "truth", "ortho.json"), func(w io.Writer) error {
		e := json.NewEncoder(w)
		e.SetIndent("", " ")
		return e.Encode(p.spec)
	})
}

// A Photo is an image in memory: RGBA has 4 bytes a pixel, row by row from the
// top, the fourth 0 where nothing is shown.
type Photo struct {
	geotiff.Header
	RGBA []byte
}

// Photograph renders an image of the scene. It fails on a spec that cannot be
// met, and when the context is cancelled.
func (s *Scene) Photograph(ctx context.Context, o OrthoSpec, workers int) (Photo, error) {
	p, err := s.picture(o)
	if err != nil {
		return Photo{}, fmt.Errorf("scene: photograph: %w", err)
	}
	photo := Photo{Header: p.header}
	err = s.camera(o).Render(ctx, p.frame, workers, func(rgba []byte) error {
		photo.RGBA = append(photo.RGBA, rgba...)
		return nil
	})
	if err != nil {
		return Photo{}, fmt.Errorf("scene: photograph: %w", err)
	}
	return photo, nil
}

// camera places the camera: nowhere for a true-ortho.
func (s *Scene) camera(o OrthoSpec) *camera.Camera {
	c := &camera.Camera{World: s.World, Sun: light.New(s.Spec.Seed)}
	if o.Height == 0 {
		return c
	}
	c.Elevation = s.meanGround() + o.Height
	middle, size := s.Low.Add(s.High).Scale(0.5), s.High.Sub(s.Low)
	if o.Base == 0 {
		c.Nadirs = []solid.Point{middle}
		return c
	}
	east, north := int(size.X/o.Base)/2+1, int(size.Y/o.Base)/2+1
	for i := -north; i <= north; i++ {
		for k := -east; k <= east; k++ {
			c.Nadirs = append(c.Nadirs, middle.Add(solid.Point{X: float64(k) * o.Base, Y: float64(i) * o.Base}))
		}
	}
	return c
}

// picture works out which pixels there are and what place each one shows.
func (s *Scene) picture(o OrthoSpec) (picture, error) {
	if err := o.validate(); err != nil {
		return picture{}, err
	}
	m, err := s.mapOf(o)
	if err != nil {
		return picture{}, err
	}
	bound, err := m.bound(s.Low, s.High)
	if err != nil {
		return picture{}, err
	}
	pixel := o.Pixel / m.crs.Horizontal.Metres
	left, top := math.Floor(bound.Min[0]/pixel)*pixel, math.Ceil(bound.Max[1]/pixel)*pixel
	width, height := math.Ceil((bound.Max[0]-left)/pixel), math.Ceil((top-bound.Min[1])/pixel)
	if width*height > 900e6 {
		return picture{}, fmt.Errorf("%.0f × %.0f pixels are more than an image is made of: ask for larger ones", width, height)
	}
	o.EPSG = m.crs.Code
	p := picture{spec: o, header: geotiff.Header{
		Width: int(width), Height: int(height), Alpha: m.warped(),
		Corner: [2]float64{left, top}, Pixel: pixel, EPSG: m.crs.Code,
	}}
	shown, err := m.lattice(p.header)
	if err != nil {
		return picture{}, err
	}
	p.frame = camera.Frame{
		Width: p.header.Width, Height: p.header.Height, Seed: chance.Hash(s.Spec.Seed, 0x0f70),
		Ground: func(col, row float64) (solid.Point, bool) {
			q := shown(col, row)
			const rim = 1 // metres beyond the block that are still shown, where the image has room for them
			ok := q.X > s.Low.X-rim && q.X < s.High.X+rim && q.Y > s.Low.Y-rim && q.Y < s.High.Y+rim
			return s.shownAt(o, q), ok
		},
	}
	return p, nil
}

// shownAt takes back the errors that are planted: it returns what the image shows
// at a local place.
func (s *Scene) shownAt(o OrthoSpec, p solid.Point) solid.Point {
	middle := s.Low.Add(s.High).Scale(0.5)
	d := p.Sub(middle).Sub(solid.Point{X: o.East, Y: o.North}).Scale(1 / (1 + o.Scale))
	sin, cos := math.Sincos(-o.Rotation * math.Pi / 180)
	return middle.Add(solid.Point{X: cos*d.X - sin*d.Y, Y: sin*d.X + cos*d.Y})
}

// A mapping takes positions in the image's CRS to local places.
type mapping struct {
	datum datum
	crs   vector.CRS
	to    *crs.Transformer // from the scene's CRS; nil where it is the same
}

func (m mapping) warped() bool { return m.to != nil }

func (s *Scene) mapOf(o OrthoSpec) (mapping, error) {
	m := mapping{datum: s.datum, crs: s.datum.crs}
	if o.EPSG == 0 || o.EPSG == s.datum.crs.Code {
		return m, nil
	}
	var err error
	if m.crs, err = crs.Parse(fmt.Sprintf("EPSG:%d", o.EPSG)); err != nil {
		return m, err
	}
	if m.crs.Kind != vector.ProjectedCRS {
		return m, fmt.Errorf("%s (%s) is no projected CRS, so pixels in it have no size in metres", m.crs, m.crs.Name)
	}
	at := s.datum.position(s.Low.Add(s.High).Scale(0.5))
	m.to, err = crs.NewTransformer(s.datum.crs, m.crs, at, crs.Options{})
	return m, err
}

// bound returns the box of the block in the image's CRS.
func (m mapping) bound(low, high solid.Point) (orb.Bound, error) {
	b := orb.Bound{Min: orb.Point{math.Inf(1), math.Inf(1)}, Max: orb.Point{math.Inf(-1), math.Inf(-1)}}
	for _, p := range []solid.Point{low, {X: high.X, Y: low.Y}, high, {X: low.X, Y: high.Y}} {
		q := orb.Point(m.datum.position(p))
		if m.to != nil {
			var err error
			if q, err = m.to.Forward(q); err != nil {
				return b, err
			}
		}
		b = b.Extend(q)
	}
	return b, nil
}

// lattice returns the local place of each position of the image. A warped image
// interpolates between nodes 64 pixels apart, over which projections bend by
// far less than a millimetre.
func (m mapping) lattice(h geotiff.Header) (func(col, row float64) solid.Point, error) {
	local := func(q orb.Point) solid.Point {
		u := m.datum.crs.Horizontal.Metres
		return solid.Point{X: q[0]*u - m.datum.origin.X, Y: q[1]*u - m.datum.origin.Y}
	}
	position := func(col, row float64) orb.Point {
		return orb.Point{h.Corner[0] + col*h.Pixel, h.Corner[1] - row*h.Pixel}
	}
	if m.to == nil {
		return func(col, row float64) solid.Point { return local(position(col, row)) }, nil
	}
	const step, margin = 64, 1 // pixels; nodes beyond the image, for the halo of a strip
	wide, high := h.Width/step+2+2*margin, h.Height/step+2+2*margin
	nodes := make([]solid.Point, wide*high)
	for i := range nodes {
		q, err := m.to.Inverse(position(float64((i%wide-margin)*step), float64((i/wide-margin)*step)))
		if err != nil {
			return nil, err
		}
		nodes[i] = local(q)
	}
	return func(col, row float64) solid.Point {
		u, v := col/step+margin, row/step+margin
		i, k := min(max(int(u), 0), wide-2), min(max(int(v), 0), high-2)
		u, v = u-float64(i), v-float64(k)
		n := nodes[k*wide+i:]
		south := n[0].Scale(1 - u).Add(n[1].Scale(u))
		return south.Scale(1 - v).Add(n[wide].Scale(1 - u).Add(n[wide+1].Scale(u)).Scale(v))
	}, nil
}

// Package orthophoto opens georeferenced images so that a layer of edges can be
// checked on them, in whatever CRS either is.
//
// Nothing is resampled: positions of the layer are taken into the image, and its
// pixels are read as they are.
package orthophoto

import (
	"errors"
	"fmt"
	"math"

	"github.com/paulmach/orb"

	"quoin/vector"
	"quoin/vector/crs"
	"quoin/vector/gdal"
	"quoin/vector/imagecheck"
)

// An Image is an open orthophoto. It is not safe for concurrent use.
type Image struct {
	raster *gdal.Raster
	info   gdal.Info
	crs    vector.CRS
	to     *crs.Transformer // from the layer's CRS; nil where it is the same
}

var _ imagecheck.Image = (*Image)(nil)

// Options say what the files leave out.
type Options struct {
	// Assumed is the image's CRS where its file says none; with Override, whatever
	// it says.
	Assumed  vector.CRS
	Override bool
	// AllowBallpark accepts transformations without knowledge of the datums.
	AllowBallpark bool
}

// Open opens an image file of any format that gdal.OpenRaster reads.
//
// An image that does not say where it lies is refused, as is one of which nothing
// tells the CRS; gdal.ErrNotBuilt is returned by a program without GDAL. See On
// for how it is put under a layer.
func Open(path string, o Options) (*Image, error) {
	r, err := gdal.OpenRaster(path)
	if err != nil {
		return nil, err
	}
	m := &Image{raster: r, info: r.Info()}
	if err := m.place(o); err != nil {
		r.Close()
		return nil, fmt.Errorf("orthophoto: open %s: %w", path, err)
	}
	return m, nil
}

func (m *Image) place(o Options) error {
	if !m.info.Placed {
		return errors.New("it does not say where it lies: put a world file beside it")
	}
	if _, _, ok := m.info.GeoTransform.Invert(0, 0); !ok {
		return errors.New("its georeferencing has pixels without a size")
	}
	m.crs = o.Assumed
	if m.info.CRS != "" && !o.Override {
		var err error
		if m.crs, _, err = crs.Complete(vector.CRS{WKT: m.info.CRS}); err != nil {
			return err
		}
		// Some programs write a definition without a datum, whose name is the code.
		if named, err := crs.Parse(m.crs.Name); m.crs.Code == 0 && err == nil {
			m.crs = named
		}
	}
	return nil
}

// CRS returns that of the image; it may be unknown.
func (m *Image) CRS() vector.CRS { return m.crs }

// Info returns what the image file is.
func (m *Image) Info() gdal.Info { return m.info }

// Close closes the file.
func (m *Image) Close() error { return m.raster.Close() }

// On puts the image under a layer in a CRS, with the operation that is best at a
// place of it. An image or a layer of unknown CRS is taken to be in the other's.
// The operation is empty where both are in the same.
func (m *Image) On(layer vector.CRS, at orb.Point, o Options) (crs.Operation, error) {
	m.to = nil
	if !layer.Known() || !m.crs.Known() || crs.Same(layer, m.crs) {
		return crs.Operation{}, nil
	}
	t, err := crs.NewTransformer(layer, m.crs, at, crs.Options{AllowBallpark: o.AllowBallpark})
	if err != nil {
		return crs.Operation{}, fmt.Errorf("orthophoto: bring the layer from %s to the image's %s: %w", layer, m.crs, err)
	}
	m.to = t
	return t.Operation(), nil
}

// Channels is 1 for grey, 3 for colours.
func (m *Image) Channels() int { return m.info.Channels }

// Place returns where a position of the layer lies, in pixels of the image.
func (m *Image) Place(p orb.Point) (col, row float64, err error) {
	if m.to != nil {
		if p, err = m.to.Forward(p); err != nil {
			return 0, 0, err
		}
	}
	col, row, _ = m.info.GeoTransform.Invert(p[0], p[1])
	return col, row, nil
}

// Window reads pixels as they are.
func (m *Image) Window(col, row, width, height int) (imagecheck.Window, error) {
	n := width * height
	w := imagecheck.Window{Width: width, Height: height, Channels: m.info.Channels, Valid: make([]bool, n)}
	if col >= m.info.Width || row >= m.info.Height || col+width <= 0 || row+height <= 0 {
		w.Values = make([]float32, n*w.Channels)
		return w, nil // wholly beside the image
	}
	into := gdal.NewImage[float32](width, height, m.info.Channels)
	from := gdal.Window{X: float64(col), Y: float64(row), Width: float64(width), Height: float64(height)}
	if err := gdal.Read(m.raster, from, gdal.Nearest, into); err != nil {
		return w, err
	}
	w.Values = into.Pix
	for i, mask := range into.Mask {
		w.Valid[i] = mask == 255 && finite(into.Pix[i*w.Channels:(i+1)*w.Channels])
	}
	return w, nil
}

func finite(v []float32) bool {
	for _, x := range v {
		if f := float64(x); math.IsNaN(f) || math.IsInf(f, 0) {
			return false
		}
	}
	return true
}

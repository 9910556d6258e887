package gdal

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
)

// A Size is a number of columns and rows.
type Size struct{ Width, Height int }

// An Info says what a raster is.
type Info struct {
	Path string
	// Format is GDAL's short name of it, as GTiff; Compression its word for it,
	// as JPEG, empty for none.
	Format, Compression string
	Size
	// Block is the size of the pieces that the file is stored in.
	Block Size
	// Bands is the number of bands, Channels how many of them are colours: 1 or
	// 3. Alpha reports a band of transparency.
	Bands, Channels int
	Alpha           bool
	Depth           Depth
	// NoData is the value that means nothing; NaN where there is none, or where
	// it is NaN.
	NoData    float64
	HasNoData bool
	// GeoTransform is where the pixels lie. Placed is false where the file does
	// not say; then the transform is the identity.
	GeoTransform GeoTransform
	Placed       bool
	// CRS is the well-known text; empty where the file says none, as beside a
	// world file.
	CRS string
	// Overviews are the reduced copies, the largest first.
	Overviews []Size
}

// A Raster is an open image file or a view of one.
type Raster struct {
	info Info
	data dataset
	// colours are the bands of the channels, counted from 0.
	colours []int
	below   *Raster // what a view is made of, closed with it
}

// maxBlock is how many bytes of a file may have to be decoded at once.
const maxBlock = 1 << 30

// foreign is how GDAL's complaint of a file of no format that it knows ends.
const foreign = "not recognized as a supported file format"

// OpenRaster opens an image file for reading: GeoTIFF of any layout and
// compression, JPEG, PNG, JPEG 2000, WebP and virtual rasters, with world
// files, overviews and masks beside them. Palettes are read as colours.
//
// Errors are *fs.PathError where there is no such file, and *Error.
func OpenRaster(path string) (*Raster, error) {
	name, err := local(path)
	if err != nil {
		return nil, fmt.Errorf("gdal: %w", err)
	}
	data, err := openRaster(name)
	if e := (*Error)(nil); errors.As(err, &e) && strings.HasSuffix(e.Text, foreign+".") {
		return nil, &Error{"open", path, foreign + ": give a GeoTIFF or another georeferenced image"}
	}
	if err != nil {
		return nil, named(err, "open", path)
	}
	r := &Raster{data: data}
	if data.paletted() {
		view, err := data.translated([]string{"-of", "VRT", "-expand", "rgba"})
		if err != nil {
			data.close()
			return nil, named(err, "open", path)
		}
		r.below, r.data = &Raster{data: data}, view
	}
	if err := r.describe(path); err != nil {
		r.Close()
		return nil, err
	}
	return r, nil
}

// describe fills in what the raster is.
func (r *Raster) describe(path string) error {
	r.info = r.data.info()
	r.info.Path = path
	if r.below != nil && r.below.info.Path == "" {
		first := r.below.data.info()
		r.info.Format, r.info.Compression, r.info.Block = first.Format, first.Compression, first.Block
	}
	if r.info.Bands == 0 {
		return &Error{"open", path, "the file holds no bands"}
	}
	r.colours = r.data.colours()
	r.info.Channels = len(r.colours)
	b := r.info.Block
	if float64(b.Width)*float64(b.Height)*float64(r.info.Bands)*8 > maxBlock {
		return &Error{"open", path, fmt.Sprintf("it is stored in pieces of %d × %d pixels, too large to decode: rewrite it in tiles", b.Width, b.Height)}
	}
	return nil
}

// Info returns what the raster is.
func (r *Raster) Info() Info {
	i := r.info
	i.Overviews = slices.Clone(i.Overviews)
	return i
}

// Close frees the raster; it must not be used afterwards, nor views of it. For
// one that was written it reports what could not be put into the file.
func (r *Raster) Close() error {
	err := r.data.close()
	if r.below != nil {
		if e := r.below.Close(); err == nil {
			err = e
		}
	}
	return named(err, "close", r.info.Path)
}

// Read fills the image with a window of the raster, resampled to the size of the
// image, from the smallest overview that is fine enough. Colours go to 3
// channels as they are and to 1 as their luma (ITU-R BT.601); grey goes to 3
// channels alike. Samples that don't fit T are clamped. Pixels that are not
// wholly inside the raster are masked and hold zeros.
//
// ErrWindow is returned for windows and images without a size, *Error when the
// file cannot be decoded.
func Read[T Sample](r *Raster, w Window, q Resampling, into *Image[T]) error {
	if !into.whole() || !finite(w.X, w.Y, w.Width, w.Height) || w.Width <= 0 || w.Height <= 0 {
		return fmt.Errorf("gdal: read %s: %w", r.info.Path, ErrWindow)
	}
	clear(into.Pix)
	clear(into.Mask)
	part, at, ok := r.inside(w, Size{into.Width, into.Height})
	if !ok {
		return nil
	}
	if into.Channels == 1 && len(r.colours) == 3 {
		return r.luma(part, q, at, any(into))
	}
	return named(readInto(r, part, q, at, into), "read", r.info.Path)
}

// A patch is where in a buffer pixels go.
type patch struct{ column, row, width, height int }

// inside returns the part of the window that lies in the raster, in whole pixels of
// the buffer, and which pixels these are.
func (r *Raster) inside(w Window, buffer Size) (Window, patch, bool) {
	first, count := span(w.X, w.Width, r.info.Width, buffer.Width)
	top, rows := span(w.Y, w.Height, r.info.Height, buffer.Height)
	if count <= 0 || rows <= 0 {
		return Window{}, patch{}, false
	}
	sx, sy := w.Width/float64(buffer.Width), w.Height/float64(buffer.Height)
	x0, x1 := clip(w.X+float64(first)*sx, w.X+float64(first+count)*sx, r.info.Width)
	y0, y1 := clip(w.Y+float64(top)*sy, w.Y+float64(top+rows)*sy, r.info.Height)
	return Window{x0, y0, x1 - x0, y1 - y0}, patch{first, top, count, rows}, true
}

// slack is how far a pixel of the buffer may reach beyond the raster, in pixels
// of the raster: rounding of coordinates in the millions.
const slack = 1e-3

// span returns which of n pixels of a buffer, spread over length from start,
// lie between 0 and end.
func span(start, length float64, end, n int) (first, count int) {
	step := length / float64(n)
	low := math.Ceil((-start - slack) / step)
	high := math.Floor((float64(end) - start + slack) / step)
	first = int(min(max(low, 0), float64(n)))
	return first, int(min(max(high, 0), float64(n))) - first
}

func clip(low, high float64, end int) (float64, float64) {
	return min(max(low, 0), float64(end)), min(max(high, 0), float64(end))
}

// level returns the overview to read a window from: the smallest one whose
// pixels are no larger than those of the buffer; -1 for the raster itself. scale
// takes its pixels to those of the raster.
func (r *Raster) level(w Window, at patch) (level int, sx, sy float64) {
	level, sx, sy = -1, 1, 1
	fx, fy := w.Width/float64(at.width), w.Height/float64(at.height)
	for i, o := range r.info.Overviews {
		ox, oy := float64(r.info.Width)/float64(o.Width), float64(r.info.Height)/float64(o.Height)
		if ox <= fx*(1+slack) && oy <= fy*(1+slack) && ox*oy > sx*sy {
			level, sx, sy = i, ox, oy
		}
	}
	return level, sx, sy
}

// readInto reads a part of the raster into a part of the image.
func readInto[T Sample](r *Raster, w Window, q Resampling, at patch, into *Image[T]) error {
	level, sx, sy := r.level(w, at)
	w = Window{w.X / sx, w.Y / sy, w.Width / sx, w.Height / sy}
	target := area{depth: depthOf[T](), patch: at, stride: into.Width}
	for c := range into.Channels {
		band := r.colours[min(c, len(r.colours)-1)]
		target.step, target.offset = into.Channels, c
		if err := r.data.read(band, level, w, q, target, samples(into.Pix)); err != nil {
			return err
		}
	}
	return r.readMask(level, w, q, at, into.Width, into.Mask)
}

// readMask reads what is there: a pixel counts where any of its colours does,
// so that a red of 0 in a file whose nodata is 0 is no hole.
func (r *Raster) readMask(level int, w Window, q Resampling, at patch, stride int, mask []uint8) error {
	target := area{depth: Uint8, patch: at, stride: stride, step: 1}
	masks := r.data.masks(r.colours)
	if len(masks) == 0 {
		for row := at.row; row < at.row+at.height; row++ {
			line := mask[row*stride+at.column:][:at.width]
			for i := range line {
				line[i] = 255
			}
		}
		return nil
	}
	if err := r.data.readMask(masks[0], level, w, q, target, mask); err != nil {
		return err
	}
	var other []uint8
	for _, band := range masks[1:] {
		if other == nil {
			other = make([]uint8, len(mask))
		}
		if err := r.data.readMask(band, level, w, q, target, other); err != nil {
			return err
		}
		for i, v := range other {
			mask[i] = max(mask[i], v)
		}
	}
	return nil
}

// luma reads colours and leaves their luma.
func (r *Raster) luma(w Window, q Resampling, at patch, into any) error {
	var err error
	switch m := into.(type) {
	case *Image[uint8]:
		err = lumaInto(r, w, q, at, m)
	case *Image[uint16]:
		err = lumaInto(r, w, q, at, m)
	case *Image[float32]:
		err = lumaInto(r, w, q, at, m)
	}
	return named(err, "read", r.info.Path)
}

func lumaInto[T Sample](r *Raster, w Window, q Resampling, at patch, into *Image[T]) error {
	colour := &Image[T]{Width: into.Width, Height: into.Height, Channels: 3, Mask: into.Mask}
	colour.Pix = make([]T, 3*len(into.Pix))
	if err := readInto(r, w, q, at, colour); err != nil {
		return err
	}
	half := float32(0)
	if depthOf[T]() != Float32 {
		half = 0.5
	}
	for i := range into.Pix {
		p := colour.Pix[3*i:][:3]
		into.Pix[i] = T(0.299*float32(p[0]) + 0.587*float32(p[1]) + 0.114*float32(p[2]) + half)
	}
	return nil
}

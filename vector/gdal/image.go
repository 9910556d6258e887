package gdal

import "unsafe"

// A Sample is the type of one value of one pixel.
type Sample interface{ uint8 | uint16 | float32 }

// An Image is a rectangle of pixels in memory.
type Image[T Sample] struct {
	Width, Height int
	// Channels is 1 for grey or 3 for red, green, blue.
	Channels int
	// Pix holds the samples row by row from the top, the channels of a pixel
	// side by side.
	Pix []T
	// Mask holds a value a pixel: 0 where the raster holds nothing (outside it,
	// nodata, transparent), 255 where it is opaque.
	Mask []uint8
}

// NewImage returns an image without anything in it.
func NewImage[T Sample](width, height, channels int) *Image[T] {
	return &Image[T]{
		Width: width, Height: height, Channels: channels,
		Pix: make([]T, width*height*channels), Mask: make([]uint8, width*height),
	}
}

// whole reports whether the slices have the sizes that the image claims.
func (m *Image[T]) whole() bool {
	return m.Width > 0 && m.Height > 0 && (m.Channels == 1 || m.Channels == 3) &&
		m.Width <= maxSide && m.Height <= maxSide &&
		len(m.Mask) == m.Width*m.Height && len(m.Pix) == m.Channels*len(m.Mask)
}

// maxSide is the longest side of a buffer in pixels.
const maxSide = 1 << 20

// A Window is a rectangle in pixels of a raster: X to the right from the left
// edge of the first column, Y down from the upper edge of the first row. It
// need not begin or end on whole pixels, and may reach beyond the raster.
type Window struct{ X, Y, Width, Height float64 }

// A Resampling says how pixels of a raster make a pixel of another size.
type Resampling int

// Nearest takes the pixel at the centre, Bilinear weighs the pixels around it
// (over the whole area where the raster is shrunk), Average takes the mean of
// all pixels in its area.
const (
	Nearest Resampling = iota
	Bilinear
	Average
)

// String returns the name that GDAL's programs take.
func (r Resampling) String() string {
	switch r {
	case Bilinear:
		return "bilinear"
	case Average:
		return "average"
	}
	return "near"
}

// A Depth is the kind of samples a raster stores.
type Depth int

// The depths that are read and written without loss. Others are read through
// float32.
const (
	OtherDepth Depth = iota
	Uint8
	Uint16
	Float32
)

func depthOf[T Sample]() Depth {
	var zero T
	switch any(zero).(type) {
	case uint8:
		return Uint8
	case uint16:
		return Uint16
	}
	return Float32
}

// A GeoTransform takes pixels to coordinates: x = g[0] + column·g[1] + row·g[2],
// y = g[3] + column·g[4] + row·g[5], where column 0, row 0 is the outer corner of the
// first pixel (GDAL raster data model).
type GeoTransform [6]float64

// Apply returns the coordinates of a place in pixels.
func (g GeoTransform) Apply(column, row float64) (x, y float64) {
	return g[0] + column*g[1] + row*g[2], g[3] + column*g[4] + row*g[5]
}

// Invert returns the place in pixels of coordinates, and false where the
// transform has no inverse.
func (g GeoTransform) Invert(x, y float64) (column, row float64, ok bool) {
	d := g[1]*g[5] - g[2]*g[4]
	if d == 0 || d != d {
		return 0, 0, false
	}
	x, y = x-g[0], y-g[3]
	return (x*g[5] - y*g[2]) / d, (y*g[1] - x*g[4]) / d, true
}

// NorthUp reports whether rows run east and columns south.
func (g GeoTransform) NorthUp() bool {
	return g[1] > 0 && g[2] == 0 && g[4] == 0 && g[5] < 0
}

// An area is where samples of a band go in a buffer of pixels.
type area struct {
	depth Depth
	patch
	stride       int // pixels in a row of the buffer
	step, offset int // samples in a pixel, and which of them
}

// samples returns the memory of a slice.
func samples[T Sample](p []T) []byte {
	var zero T
	return unsafe.Slice((*byte)(unsafe.Pointer(unsafe.SliceData(p))), len(p)*int(unsafe.Sizeof(zero)))
}

package gdal

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strconv"

	"quoin/vector"
	"quoin/vector/atomicfile"
	"quoin/vector/crs"
)

// A Compression is how the tiles of a GeoTIFF are packed.
type Compression string

// The compressions that are written: none and Deflate lose nothing, LZW neither;
// WebP here too; JPEG loses what the eye does not see.
const (
	Uncompressed Compression = "NONE"
	Deflate      Compression = "DEFLATE"
	LZW          Compression = "LZW"
	WebP         Compression = "WEBP"
	JPEG         Compression = "JPEG"
)

// A Creation says what file to make.
type Creation struct {
	Size
	// Channels is 1 or 3; Alpha adds a band of transparency, which is written
	// from the masks of images.
	Channels     int
	Alpha        bool
	Depth        Depth
	GeoTransform GeoTransform
	// CRS may be unknown; its vertical part is left out.
	CRS         vector.CRS
	Compression Compression
	// Quality is that of JPEG, 1 to 100.
	Quality int
	// Overviews is how overviews are made, in a cloud-optimised file.
	Overviews Resampling
}

// check returns what is wrong with the creation.
func (c Creation) check() error {
	switch {
	case c.Width <= 0 || c.Height <= 0:
		return errors.New("the image has no size")
	case c.Channels != 1 && c.Channels != 3:
		return fmt.Errorf("%d channels: 1 or 3 are written", c.Channels)
	case c.Depth == OtherDepth:
		return errors.New("the depth is not given")
	case c.Compression == JPEG && (c.Depth != Uint8 || c.Quality < 1 || c.Quality > 100):
		return errors.New("JPEG packs 8-bit samples with a quality from 1 to 100")
	case c.Compression == WebP && c.Depth != Uint8:
		return errors.New("WebP packs 8-bit samples")
	}
	return nil
}

// tile is the side of the tiles in pixels: the COG driver's default.
const tile = 512

// options returns what GDAL's GeoTIFF driver is told.
func (c Creation) options(p Compression) []string {
	o := []string{
		"TILED=YES", "BLOCKXSIZE=" + strconv.Itoa(tile), "BLOCKYSIZE=" + strconv.Itoa(tile),
		"COMPRESS=" + string(p), "BIGTIFF=IF_SAFER",
	}
	if c.Channels == 3 {
		o = append(o, "PHOTOMETRIC=RGB")
	}
	if c.Alpha {
		o = append(o, "ALPHA=NON-PREMULTIPLIED")
	}
	if p == JPEG {
		o = append(o, "JPEG_QUALITY="+strconv.Itoa(c.Quality))
		if c.Channels == 3 && !c.Alpha {
			o[5] = "PHOTOMETRIC=YCBCR"
		}
	}
	if p == WebP {
		o = append(o, "WEBP_LOSSLESS=YES")
	}
	return o
}

// cogOptions returns what GDAL's driver of cloud-optimised GeoTIFF is told.
func (c Creation) cogOptions() []string {
	o := []string{
		"BLOCKSIZE=" + strconv.Itoa(tile), "COMPRESS=" + string(c.Compression), "BIGTIFF=IF_SAFER",
		"OVERVIEWS=IGNORE_EXISTING", "NUM_THREADS=1",
	}
	switch c.Overviews {
	case Nearest:
		o = append(o, "OVERVIEW_RESAMPLING=NEAREST")
	case Bilinear:
		o = append(o, "OVERVIEW_RESAMPLING=BILINEAR")
	case Average:
		o = append(o, "OVERVIEW_RESAMPLING=AVERAGE")
	}
	switch {
	case c.Compression == JPEG:
		o = append(o, "QUALITY="+strconv.Itoa(c.Quality))
	case c.Compression == WebP:
		o = append(o, "QUALITY=100") // lossless
	case c.Depth != Float32 && c.Compression != Uncompressed:
		o = append(o, "PREDICTOR=STANDARD")
	}
	return o
}

// A Writer takes the pixels of a file that is being made.
type Writer struct {
	data dataset
	of   Creation
}

// Write puts an image at a place of the raster given in whole pixels, and its mask
// into the band of transparency if there is one. Whole tiles in order, 512 pixels a
// side, are written without packing anything twice. An image that reaches beyond
// the raster, or has other channels, is an error.
func Write[T Sample](w *Writer, column, row int, m *Image[T]) error {
	if !m.whole() || column < 0 || row < 0 || column > w.of.Width-m.Width || row > w.of.Height-m.Height {
		return fmt.Errorf("gdal: write: %w", ErrWindow)
	}
	if m.Channels != w.of.Channels {
		return fmt.Errorf("gdal: write: an image of %d channels into a file of %d", m.Channels, w.of.Channels)
	}
	whole := patch{0, 0, m.Width, m.Height}
	at := patch{column, row, m.Width, m.Height}
	for c := range m.Channels {
		a := area{depth: depthOf[T](), patch: whole, stride: m.Width, step: m.Channels, offset: c}
		if err := w.data.write(c, a, at, samples(m.Pix)); err != nil {
			return named(err, "write", "pixels")
		}
	}
	if !w.of.Alpha {
		return nil
	}
	return named(w.writeAlpha(m.Mask, whole, at), "write", "transparency")
}

// writeAlpha stretches the mask to the range of 16-bit samples, where opaque is
// 65535 (TIFF 6.0, extra samples).
func (w *Writer) writeAlpha(mask []uint8, whole, at patch) error {
	a := area{depth: Uint8, patch: whole, stride: whole.width, step: 1}
	if w.of.Depth != Uint16 {
		return w.data.write(w.of.Channels, a, at, mask)
	}
	wide := make([]uint16, len(mask))
	for i, v := range mask {
		wide[i] = 257 * uint16(v)
	}
	a.depth = Uint16
	return w.data.write(w.of.Channels, a, at, samples(wide))
}

// WriteTiled makes a tiled GeoTIFF from what fill writes, in memory that does
// not grow with it. The file is there when all went well, and else whatever was
// there before.
func WriteTiled(path string, c Creation, fill func(*Writer) error) error {
	if err := c.check(); err != nil {
		return fmt.Errorf("gdal: write %s: %w", path, err)
	}
	return atomicfile.WritePath(path, func(temporary string) error {
		return named(writeTo(temporary, c, c.Compression, fill), "write", path)
	})
}

// WriteCOG makes a cloud-optimised GeoTIFF with overviews from what fill writes.
// While it does, the same again without overviews lies beside it.
func WriteCOG(path string, c Creation, fill func(*Writer) error) error {
	if err := c.check(); err != nil {
		return fmt.Errorf("gdal: write %s: %w", path, err)
	}
	return atomicfile.WritePath(path, func(temporary string) error {
		defer removeBeside(temporary)
		scratch := temporary + ".tiles"
		if err := writeTo(scratch, c, Deflate, fill); err != nil {
			return named(err, "write", path)
		}
		return named(copyCOG(temporary, scratch, c), "write", path)
	})
}

// removeBeside removes what was made under the temporary name with something
// behind it: our scratch file, and GDAL's where it stopped halfway.
func removeBeside(temporary string) {
	left, _ := filepath.Glob(temporary + ".*") // the name has no characters with a meaning
	for _, name := range left {
		os.Remove(name)
	}
}

// writeTo makes the file at path.
func writeTo(path string, c Creation, p Compression, fill func(*Writer) error) error {
	name, err := filepath.Abs(path)
	if err != nil {
		return err
	}
	definition, err := flat(c.CRS)
	if err != nil {
		return err
	}
	data, err := create(name, definition, c, c.options(p))
	if err != nil {
		return err
	}
	err = fill(&Writer{data, c})
	return errors.Join(err, data.close())
}

func copyCOG(path, from string, c Creation) error {
	source, err := openRaster(from)
	if err != nil {
		return err
	}
	err = source.copyTo("COG", path, c.cogOptions())
	return errors.Join(err, source.close())
}

// flat returns the definition of the horizontal CRS; empty for an unknown one.
func flat(c vector.CRS) (string, error) {
	if !c.Known() {
		return "", nil
	}
	text, err := crs.Definition(c, crs.WKT1)
	if err != nil {
		text, err = crs.Definition(c, crs.WKT2)
	}
	return text, err
}

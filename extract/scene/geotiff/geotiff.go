// Package geotiff writes the simulator's images as tiled GeoTIFF, compressed
// without loss. It is the simulator's own, so that a demo can be written without
// the library that reads images.
//
// Sources: TIFF 6.0 (Adobe 1992) with technical note 2 on Deflate (code 8), and
// OGC GeoTIFF 1.1 (OGC 19-008r4). From memory; gdalinfo accepts the files.
package geotiff

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"os"
)

// TileSize is the side of a tile in pixels; strips must have as many rows.
const TileSize = 256

// A Header says what an image is.
type Header struct {
	Width, Height int
	// Alpha keeps the fourth channel.
	Alpha bool
	// Corner is the position of the upper left corner of the upper left pixel,
	// Pixel the side of a pixel, both in units of the CRS.
	Corner [2]float64
	Pixel  float64
	// EPSG is the code of the projected CRS.
	EPSG int
}

// A Writer writes one image. Close or Abort must be called.
type Writer struct {
	header  Header
	path    string
	file    *os.File
	at      int64
	offsets []uint32
	counts  []uint32
	rows    int
}

// Create begins an image, under a temporary name.
func Create(path string, h Header) (*Writer, error) {
	if h.Width <= 0 || h.Height <= 0 || int64(h.Width)*int64(h.Height) > 900e6 {
		return nil, fmt.Errorf("geotiff: create %s: %d × %d pixels do not fit in the file: ask for larger pixels", path, h.Width, h.Height)
	}
	if h.EPSG <= 0 || h.EPSG > 32767 {
		return nil, fmt.Errorf("geotiff: create %s: the CRS has no EPSG code of five digits that could be written", path)
	}
	f, err := os.Create(path + ".partial")
	if err != nil {
		return nil, fmt.Errorf("geotiff: create: %w", err)
	}
	w := &Writer{header: h, path: path, file: f}
	// The offset of the directory is filled in at the end.
	if err := w.put([]byte{'I', 'I', 42, 0, 0, 0, 0, 0}); err != nil {
		w.Abort()
		return nil, err
	}
	return w, nil
}

func (w *Writer) put(b []byte) error {
	n, err := w.file.Write(b)
	w.at += int64(n)
	if err == nil && w.at > math.MaxUint32-1<<20 {
		err = errors.New("the image does not fit in four gigabytes")
	}
	if err != nil {
		return fmt.Errorf("geotiff: write %s: %w", w.path, err)
	}
	return nil
}

// Strip writes the next rows, TileSize of them or what is left, 4 bytes a pixel.
func (w *Writer) Strip(rgba []byte) error {
	width := w.header.Width
	rows := len(rgba) / (4 * width)
	w.rows += rows
	for left := 0; left < width; left += TileSize {
		tile := w.tile(rgba, left, rows)
		var packed bytes.Buffer
		z, err := zlib.NewWriterLevel(&packed, zlib.BestSpeed)
		if err != nil {
			return err
		}
		if _, err = z.Write(tile); err == nil {
			err = z.Close()
		}
		if err != nil {
			return fmt.Errorf("geotiff: compress %s: %w", w.path, err)
		}
		w.offsets = append(w.offsets, uint32(w.at))
		w.counts = append(w.counts, uint32(packed.Len()))
		if err := w.put(packed.Bytes()); err != nil {
			return err
		}
	}
	return nil
}

// tile cuts a tile out of a strip, as differences along the rows (predictor 2).
func (w *Writer) tile(rgba []byte, left, rows int) []byte {
	channels := w.channels()
	out := make([]byte, TileSize*TileSize*channels)
	for row := range rows {
		for k := range channels {
			last := byte(0)
			for col := range min(TileSize, w.header.Width-left) {
				v := rgba[4*(row*w.header.Width+left+col)+k]
				out[(row*TileSize+col)*channels+k] = v - last
				last = v
			}
		}
	}
	return out
}

func (w *Writer) channels() int {
	if w.header.Alpha {
		return 4
	}
	return 3
}

// Close writes the directory and gives the file its name.
func (w *Writer) Close() error {
	err := w.finish()
	if err != nil {
		w.Abort()
		return err
	}
	if err := w.file.Close(); err != nil {
		_ = os.Remove(w.path + ".partial")
		return fmt.Errorf("geotiff: close: %w", err)
	}
	if err := os.Rename(w.path+".partial", w.path); err != nil {
		_ = os.Remove(w.path + ".partial")
		return fmt.Errorf("geotiff: close: %w", err)
	}
	return nil
}

// Abort removes what was written.
func (w *Writer) Abort() {
	_ = w.file.Close()
	_ = os.Remove(w.path + ".partial")
}

func (w *Writer) finish() error {
	if w.rows != w.header.Height {
		return fmt.Errorf("geotiff: close %s: %d of %d rows were written", w.path, w.rows, w.header.Height)
	}
	d := directory{base: uint32(w.at+1) &^ 1}
	w.describe(&d)
	at := d.base + uint32(len(d.data))
	if pad := int64(d.base) - w.at; pad > 0 {
		if err := w.put(make([]byte, pad)); err != nil {
			return err
		}
	}
	if err := w.put(append(d.data, d.bytes()...)); err != nil {
		return err
	}
	if _, err := w.file.WriteAt(binary.LittleEndian.AppendUint32(nil, at), 4); err != nil {
		return fmt.Errorf("geotiff: write %s: %w", w.path, err)
	}
	return nil
}

package geotiff

import (
	"encoding/binary"
	"math"
)

// Field types of TIFF 6.0.
const (
	typeShort  = 3
	typeLong   = 4
	typeDouble = 12
)

// A directory is an image file directory on its way: entries in the order of
// their tags, and the values that do not fit into them.
type directory struct {
	base    uint32 // offset of data in the file
	data    []byte
	entries []byte
	count   uint16
}

func (d *directory) entry(tag, kind uint16, n int, values []byte) {
	e := binary.LittleEndian.AppendUint16(d.entries, tag)
	e = binary.LittleEndian.AppendUint16(e, kind)
	e = binary.LittleEndian.AppendUint32(e, uint32(n))
	if len(values) <= 4 {
		e = append(e, append(values, make([]byte, 4-len(values))...)...)
	} else {
		e = binary.LittleEndian.AppendUint32(e, d.base+uint32(len(d.data)))
		d.data = append(d.data, values...)
		if len(d.data)%2 == 1 {
			d.data = append(d.data, 0)
		}
	}
	d.entries = e
	d.count++
}

func (d *directory) shorts(tag uint16, v ...uint16) {
	var b []byte
	for _, x := range v {
		b = binary.LittleEndian.AppendUint16(b, x)
	}
	d.entry(tag, typeShort, len(v), b)
}

func (d *directory) longs(tag uint16, v ...uint32) {
	var b []byte
	for _, x := range v {
		b = binary.LittleEndian.AppendUint32(b, x)
	}
	d.entry(tag, typeLong, len(v), b)
}

func (d *directory) doubles(tag uint16, v ...float64) {
	var b []byte
	for _, x := range v {
		b = binary.LittleEndian.AppendUint64(b, math.Float64bits(x))
	}
	d.entry(tag, typeDouble, len(v), b)
}

// bytes returns the directory as it stands in the file, the last of the file.
func (d *directory) bytes() []byte {
	b := binary.LittleEndian.AppendUint16(nil, d.count)
	b = append(b, d.entries...)
	return append(b, 0, 0, 0, 0)
}

// describe fills in the directory. Tags must ascend.
func (w *Writer) describe(d *directory) {
	h := w.header
	channels := w.channels()
	bits := []uint16{8, 8, 8, 8}[:channels]
	d.longs(256, uint32(h.Width))
	d.longs(257, uint32(h.Height))
	d.shorts(258, bits...)          // bits per sample
	d.shorts(259, 8)                // Deflate
	d.shorts(262, 2)                // RGB
	d.shorts(277, uint16(channels)) // samples per pixel
	d.shorts(284, 1)                // pixel interleaved
	d.shorts(317, 2)                // horizontal differences
	d.shorts(322, TileSize)         // tile width
	d.shorts(323, TileSize)         // tile length
	d.longs(324, w.offsets...)      // tile offsets
	d.longs(325, w.counts...)       // tile byte counts
	if h.Alpha {
		d.shorts(338, 2) // the fourth channel is unassociated alpha
	}
	d.doubles(33550, h.Pixel, h.Pixel, 0)                                                 // ModelPixelScale
	d.doubles(33922, 0, 0, 0, h.Corner[0], h.Corner[1], 0)                                // ModelTiepoint
	d.shorts(34735, 1, 1, 0, 3, 1024, 0, 1, 1, 1025, 0, 1, 1, 3072, 0, 1, uint16(h.EPSG)) // projected, pixel is area
}

package las

import (
	"bytes"
	"encoding/binary"
	"math"
	"strings"
	"time"

	"quoin/vector"
)

// Encoding is the set of global encoding bits.
type Encoding uint16

// The global encoding bits of LAS 1.4 R15, table 4.
const (
	// AdjustedTime says that GPS time is standard GPS time less 10⁹ s; without
	// it, time is in seconds of the GPS week.
	AdjustedTime Encoding = 1 << 0
	// InternalWaves and ExternalWaves say where waveform packets are.
	InternalWaves Encoding = 1 << 1
	ExternalWaves Encoding = 1 << 2
	// SyntheticReturns says that return numbers were made up.
	SyntheticReturns Encoding = 1 << 3
	// WKT says that the CRS is given as well-known text.
	WKT Encoding = 1 << 4
)

// signature opens every LAS file.
const signature = "LASF"

// Offsets of the header's fields in bytes: ASPRS LAS 1.4 R15, table 3.
const (
	offSourceID   = 4
	offEncoding   = 6
	offGUID       = 8
	offMajor      = 24
	offMinor      = 25
	offSystem     = 26
	offSoftware   = 58
	offDay        = 90
	offYear       = 92
	offHeaderSize = 94
	offPoints     = 96
	offVLRCount   = 100
	offFormat     = 104
	offRecord     = 105
	offOldCount   = 107
	offOldReturns = 111
	offScale      = 131
	offOffset     = 155
	offBounds     = 179
	offWaves      = 227
	offEVLRs      = 235
	offEVLRCount  = 243
	offCount      = 247
	offReturns    = 255
	oldReturns    = 5
	newReturns    = 15
	textLength    = 32
	// Bits of the format byte that mark compressed points: 7, and in old files
	// 6. The former is written.
	compressedBits = 0xC0
	packedBit      = 0x80
)

// A Header is what a LAS file says before its points.
//
// Create takes one and reads the fields down to ExtraBytes; the others follow
// from what is written.
type Header struct {
	// Version is the minor version: 4 for LAS 1.4.
	Version uint8
	// Format is the point data record format, 0 to 10.
	Format uint8
	// Scale and Offset turn stored integers into CRS units, by axis:
	// coordinate = stored·Scale + Offset.
	Scale, Offset [3]float64
	// CRS is what the file's CRS records say. When Create gets a known one it
	// writes the record that the format asks for in place of those in VLRs;
	// when it gets an unknown one, VLRs and EVLRs are written as they are.
	CRS vector.CRS
	// Encoding holds the global encoding bits. Create sets the WKT bit itself
	// where it writes the CRS record, and for formats 6 to 10.
	Encoding Encoding
	// SystemID and Software name the sensor and the program; at most 32 bytes
	// are kept.
	SystemID, Software string
	FileSourceID       uint16
	GUID               [16]byte
	// Created is the file creation day; zero when not given.
	Created time.Time
	// VLRs and EVLRs are the variable length records in file order.
	VLRs, EVLRs []VLR
	// ExtraBytes is the number of bytes a record has beyond those of its
	// format. What they mean stands in the record LASF_Spec 4.
	ExtraBytes int

	// Count and Returns are the numbers of points, in all and by return
	// number from 1.
	Count   uint64
	Returns [15]uint64
	// Min and Max are the corners of the box the header gives, x, y, z.
	Min, Max [3]float64
	// WaveStart is the position of the waveform packets; 0 when there are
	// none in this file.
	WaveStart uint64

	// original is the header as it was read, and pastHeader and pastVLRs are
	// bytes of the user's own behind the standard header and
	// behind the last VLR: kept so that a copy is one to the last byte.
	original, pastHeader, pastVLRs []byte
}

// RecordLength returns the length of a point record in bytes.
func (h *Header) RecordLength() int {
	layout, _ := LayoutOf(h.Format)
	return layout.Length + h.ExtraBytes
}

// put writes the header's fields into b, which holds the whole header.
func (h *Header) put(b []byte) {
	le := binary.LittleEndian
	if len(b) == len(h.original) {
		copy(b, h.original)
	} else if h.original != nil {
		copy(b, h.original[:leastHeader])
	}
	copy(b, signature)
	le.PutUint16(b[offSourceID:], h.FileSourceID)
	le.PutUint16(b[offEncoding:], uint16(h.Encoding))
	copy(b[offGUID:], h.GUID[:])
	b[offMajor], b[offMinor] = 1, h.Version
	putText(b[offSystem:offSystem+textLength], h.SystemID)
	putText(b[offSoftware:offSoftware+textLength], h.Software)
	if !h.Created.Equal(createdOn(le.Uint16(b[offDay:]), le.Uint16(b[offYear:]))) {
		le.PutUint16(b[offDay:], uint16(h.Created.YearDay()))
		le.PutUint16(b[offYear:], uint16(h.Created.Year()))
	}
	le.PutUint16(b[offHeaderSize:], uint16(len(b)))
	b[offFormat] = h.Format
	le.PutUint16(b[offRecord:], uint16(h.RecordLength()))
	for axis := range 3 {
		putFloat(b[offScale+8*axis:], h.Scale[axis])
		putFloat(b[offOffset+8*axis:], h.Offset[axis])
	}
	copy(b[headerSizeOf(h.Version):], h.pastHeader)
	h.putCounts(b)
}

// putCounts writes what is known only when all points have been written.
func (h *Header) putCounts(b []byte) {
	le := binary.LittleEndian
	for axis := range 3 {
		putFloat(b[offBounds+16*axis:], h.Max[axis])
		putFloat(b[offBounds+16*axis+8:], h.Min[axis])
	}
	clear(b[offOldCount : offOldReturns+4*oldReturns])
	if h.Format <= 5 && h.Count <= math.MaxUint32 {
		le.PutUint32(b[offOldCount:], uint32(h.Count))
		for i := range oldReturns {
			le.PutUint32(b[offOldReturns+4*i:], uint32(h.Returns[i]))
		}
	}
	if h.Version >= 3 {
		le.PutUint64(b[offWaves:], h.WaveStart)
	}
	if h.Version < 4 {
		return
	}
	le.PutUint64(b[offCount:], h.Count)
	for i := range newReturns {
		le.PutUint64(b[offReturns+8*i:], h.Returns[i])
	}
}

func putFloat(b []byte, v float64) {
	binary.LittleEndian.PutUint64(b, math.Float64bits(v))
}

func getFloat(b []byte) float64 {
	return math.Float64frombits(binary.LittleEndian.Uint64(b))
}

// text returns the characters of a padded field up to the first NUL.
func text(b []byte) string {
	if i := bytes.IndexByte(b, 0); i >= 0 {
		b = b[:i]
	}
	return strings.TrimSpace(string(b))
}

// putText writes a padded field; one that says the same already keeps its
// padding, whatever that is.
func putText(b []byte, s string) {
	if text(b) == s {
		return
	}
	clear(b)
	copy(b, s)
}

// createdOn returns a day of a year; zero when the header gives none or an
// impossible one.
func createdOn(day, year uint16) time.Time {
	if day < 1 || day > 366 || year < 1 || year > 9999 {
		return time.Time{}
	}
	return time.Date(int(year), time.January, int(day), 0, 0, 0, 0, time.UTC)
}

package copc

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"

	"quoin/extract/las/laz"
)

// Sizes and places of what a COPC file begins with.
const (
	headerSize     = 375
	vlrHead        = 54
	evlrHead       = 60
	infoSize       = 160
	infoAt         = headerSize + vlrHead
	pointsAt       = 8 // from the offset to point data: the chunk table's position
	userID         = "copc"
	infoID         = 1
	hierarchyID    = 1000
	firstFormat    = 6
	lastFormat     = 8
	returnCounts   = 15
	maxVLRData     = math.MaxUint16
	encodingWKT    = 1 << 4
	compressedBit  = 0x80
	signature      = "LASF"
	minorVersion   = 4
	headerEncoding = 6
)

// Info is the content of the record that makes a LAZ file a COPC file.
type Info struct {
	// Center is the middle of the root's cube, HalfSize half of its side, in
	// the units of the file's CRS.
	Center   [3]float64
	HalfSize float64
	// Spacing is the distance of points in the root; each level halves it.
	Spacing float64
	// rootAt and rootSize place the first page of the hierarchy.
	rootAt, rootSize uint64
	// MinTime and MaxTime are the least and the greatest GPS time.
	MinTime, MaxTime float64
}

func parseInfo(b []byte) Info {
	le := binary.LittleEndian
	f := func(at int) float64 { return math.Float64frombits(le.Uint64(b[at:])) }
	return Info{
		Center: [3]float64{f(0), f(8), f(16)}, HalfSize: f(24), Spacing: f(32),
		rootAt: le.Uint64(b[40:]), rootSize: le.Uint64(b[48:]), MinTime: f(56), MaxTime: f(64),
	}
}

func (i Info) marshal() []byte {
	le := binary.LittleEndian
	b := make([]byte, 0, infoSize)
	f := func(v float64) { b = le.AppendUint64(b, math.Float64bits(v)) }
	for _, v := range i.Center {
		f(v)
	}
	f(i.HalfSize)
	f(i.Spacing)
	b = le.AppendUint64(b, i.rootAt)
	b = le.AppendUint64(b, i.rootSize)
	f(i.MinTime)
	f(i.MaxTime)
	return append(b, make([]byte, infoSize-len(b))...)
}

func (i Info) check() error {
	finite := func(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }
	for _, v := range i.Center {
		if !finite(v) {
			return fmt.Errorf("the octree's centre is %v", i.Center)
		}
	}
	if !finite(i.HalfSize) || i.HalfSize <= 0 || !finite(i.Spacing) || i.Spacing <= 0 {
		return fmt.Errorf("the octree's half size is %v, its spacing %v", i.HalfSize, i.Spacing)
	}
	return nil
}

// head is what a reader needs of the header.
type head struct {
	points        uint64
	start         int64
	scale, offset [3]float64
	record        laz.Record
	info          Info
}

// IsCOPC reports whether the file of which b is the beginning, at least 589
// bytes, is a COPC file.
func IsCOPC(b []byte) bool {
	return len(b) >= infoAt+infoSize && string(b[:4]) == signature && string(b[377:382]) == userID+"\x00" &&
		binary.LittleEndian.Uint16(b[393:]) == infoID
}

func parseHead(file io.ReaderAt, size int64) (head, error) {
	var h head
	b := make([]byte, infoAt+infoSize)
	if n, err := file.ReadAt(b, 0); n < len(b) {
		if err == io.EOF {
			err = io.ErrUnexpectedEOF
		}
		return h, err
	}
	le := binary.LittleEndian
	if !IsCOPC(b) || le.Uint16(b[headerSize+20:]) != infoSize || le.Uint16(b[94:]) != headerSize {
		return h, errors.New("its first record is not that of COPC")
	}
	h.start, h.points = int64(le.Uint32(b[96:])), le.Uint64(b[247:])
	for i := range 3 {
		h.scale[i] = math.Float64frombits(le.Uint64(b[131+8*i:]))
		h.offset[i] = math.Float64frombits(le.Uint64(b[155+8*i:]))
		if s := h.scale[i]; s == 0 || math.IsNaN(s) || math.IsInf(s, 0) {
			return h, fmt.Errorf("the scale is %v", h.scale)
		}
	}
	if h.start < infoAt+infoSize || h.start > size {
		return h, fmt.Errorf("points begin at %d in a file of %d bytes", h.start, size)
	}
	h.info = parseInfo(b[infoAt:])
	if err := h.info.check(); err != nil {
		return h, err
	}
	return h, h.findRecord(file, b)
}

// findRecord finds the LASzip record among the records behind the first one,
// and checks it against the header b.
func (h *head) findRecord(file io.ReaderAt, b []byte) error {
	le := binary.LittleEndian
	at := int64(infoAt + infoSize)
	var v [vlrHead]byte
	for range le.Uint32(b[100:]) {
		if at+vlrHead > h.start {
			break
		}
		if _, err := file.ReadAt(v[:], at); err != nil {
			return err
		}
		n := int64(le.Uint16(v[20:]))
		if at += vlrHead; at+n > h.start {
			break
		}
		if string(v[2:2+len(laz.UserID)]) == laz.UserID && le.Uint16(v[18:]) == laz.RecordID {
			payload := make([]byte, n)
			if _, err := file.ReadAt(payload, at); err != nil {
				return err
			}
			return h.checkRecord(payload, b)
		}
		at += n
	}
	return errors.New("there is no LASzip record")
}

func (h *head) checkRecord(payload, b []byte) (err error) {
	if h.record, err = laz.ParseRecord(payload); err != nil {
		return err
	}
	format, length := int(b[104]&0x3f), int(binary.LittleEndian.Uint16(b[105:]))
	if h.record.Format() != format || h.record.RecordLength() != length || format < firstFormat || format > lastFormat ||
		h.record.Compressor != laz.LayeredChunked {
		return fmt.Errorf("point format %d of %d bytes is compressed as format %d of %d", format, length,
			h.record.Format(), h.record.RecordLength())
	}
	return nil
}

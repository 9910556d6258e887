package las

import (
	"encoding/binary"
	"fmt"
	"io"
	"math"
)

// leastHeader is the length of the shortest header, that of LAS 1.0 to 1.2.
const leastHeader = 227

// Mends that several faults share.
const (
	mendCopy    = "the file is cut off: copy it again from its source"
	mendRewrite = "write it again with the program that made it"
)

// A parser reads a header and its records, and notes what is odd but no
// obstacle.
type parser struct {
	path     string
	r        io.ReaderAt
	size     int64
	header   Header
	packed   bool  // the format byte says that points are compressed
	points   int64 // where points start
	vlrStart int64
	vlrCount uint32
	evlrAt   uint64
	evlrs    uint32
	warnings []string
}

func (p *parser) bad(mend, what string, args ...any) error {
	return &FormatError{Path: p.path, What: fmt.Sprintf(what, args...), Mend: mend}
}

func (p *parser) warn(what string, args ...any) {
	p.warnings = append(p.warnings, fmt.Sprintf(what, args...))
}

// parse reads everything that is not points.
func (p *parser) parse() error {
	b, err := p.headerBytes()
	if err != nil {
		return err
	}
	p.names(b)
	if err := p.pointFields(b); err != nil {
		return err
	}
	if err := p.placement(b); err != nil {
		return err
	}
	p.counts(b)
	p.box(b)
	if err := p.readVLRs(); err != nil {
		return err
	}
	if err := p.readEVLRs(); err != nil {
		return err
	}
	p.readCRS()
	return nil
}

// headerBytes returns the whole header after looking at what decides how long
// it is.
func (p *parser) headerBytes() ([]byte, error) {
	if p.size < leastHeader {
		if p.size == 0 {
			return nil, p.bad(mendCopy, "the file is empty")
		}
		return nil, p.bad("check that it is a LAS file and copied whole", "%d bytes are shorter than any LAS header", p.size)
	}
	var b [leastHeader]byte
	if err := p.readAt(b[:], 0); err != nil {
		return nil, err
	}
	if string(b[:4]) != signature {
		return nil, p.bad("give a .las or .laz file", "starts with %q and not with %q: this is no LAS file", b[:4], signature)
	}
	if b[offMajor] != 1 || b[offMinor] > 5 {
		return nil, p.bad("convert it to LAS 1.4", "LAS %d.%d is not known", b[offMajor], b[offMinor])
	}
	p.header.Version = b[offMinor]
	size, least := int64(binary.LittleEndian.Uint16(b[offHeaderSize:])), headerSizeOf(b[offMinor])
	if size < int64(least) {
		return nil, p.bad(mendRewrite, "the header says it has %d bytes, LAS 1.%d needs %d", size, b[offMinor], least)
	}
	if size > p.size {
		return nil, p.bad(mendCopy, "the header needs %d bytes, the file has %d", size, p.size)
	}
	whole := make([]byte, size)
	if err := p.readAt(whole, 0); err != nil {
		return nil, err
	}
	p.vlrStart = size
	p.header.original, p.header.pastHeader = whole, whole[least:]
	return whole, nil
}

func (p *parser) readAt(b []byte, at int64) error {
	if _, err := p.r.ReadAt(b, at); err != nil {
		return fmt.Errorf("las: read %s at byte %d: %w", p.path, at, err)
	}
	return nil
}

func (p *parser) names(b []byte) {
	h, le := &p.header, binary.LittleEndian
	h.FileSourceID = le.Uint16(b[offSourceID:])
	h.Encoding = Encoding(le.Uint16(b[offEncoding:]))
	copy(h.GUID[:], b[offGUID:])
	h.SystemID = text(b[offSystem : offSystem+textLength])
	h.Software = text(b[offSoftware : offSoftware+textLength])
	h.Created = createdOn(le.Uint16(b[offDay:]), le.Uint16(b[offYear:]))
}

func (p *parser) pointFields(b []byte) error {
	h := &p.header
	p.packed = b[offFormat]&compressedBits != 0
	h.Format = b[offFormat] &^ compressedBits
	layout, ok := LayoutOf(h.Format)
	if !ok {
		return p.bad("convert it to a point format of LAS 1.4", "point format %d is not known", h.Format)
	}
	if h.Format > formatsOf(h.Version) {
		p.warn("LAS 1.%d does not know point format %d: read all the same", h.Version, h.Format)
	}
	length := int(binary.LittleEndian.Uint16(b[offRecord:]))
	if length < layout.Length {
		return p.bad(mendRewrite, "records of %d bytes are too short for point format %d, which has %d", length, h.Format, layout.Length)
	}
	h.ExtraBytes = length - layout.Length
	for axis := range 3 {
		h.Scale[axis], h.Offset[axis] = getFloat(b[offScale+8*axis:]), getFloat(b[offOffset+8*axis:])
		if s := h.Scale[axis]; !(s > 0) || math.IsInf(s, 0) {
			return p.bad(mendRewrite, "the %c scale is %g: it must be a number above 0", "xyz"[axis], s)
		}
		if o := h.Offset[axis]; math.IsNaN(o) || math.IsInf(o, 0) {
			return p.bad(mendRewrite, "the %c offset is %g: it must be a number", "xyz"[axis], o)
		}
	}
	return nil
}

func (p *parser) placement(b []byte) error {
	le := binary.LittleEndian
	p.points = int64(le.Uint32(b[offPoints:]))
	p.vlrCount = le.Uint32(b[offVLRCount:])
	switch {
	case p.points < p.vlrStart:
		return p.bad(mendRewrite, "points start at byte %d, inside the header of %d bytes", p.points, p.vlrStart)
	case p.points > p.size:
		return p.bad(mendCopy, "points start at byte %d, beyond the end of the file at %d", p.points, p.size)
	}
	if p.header.Version >= 3 {
		p.header.WaveStart = le.Uint64(b[offWaves:])
	}
	if p.header.Version >= 4 {
		p.evlrAt, p.evlrs = le.Uint64(b[offEVLRs:]), le.Uint32(b[offEVLRCount:])
	} else if at := p.header.WaveStart; at != 0 && p.header.Encoding&InternalWaves != 0 {
		// LAS 1.3 keeps its waveform packets in what 1.4 calls an extended
		// record.
		if at < uint64(p.points) || at > uint64(p.size) {
			p.warn("the waveform packets start at byte %d, outside the file: left aside", at)
			return nil
		}
		p.evlrAt, p.evlrs = at, 1
	}
	return nil
}

// counts takes the number of points from the field that the version says,
// and the other one where only that is filled.
func (p *parser) counts(b []byte) {
	h, le := &p.header, binary.LittleEndian
	old := uint64(le.Uint32(b[offOldCount:]))
	h.Count = old
	for i := range oldReturns {
		h.Returns[i] = uint64(le.Uint32(b[offOldReturns+4*i:]))
	}
	if h.Version < 4 {
		return
	}
	count := le.Uint64(b[offCount:])
	switch {
	case old == 0 || old == count:
	case count == 0:
		p.warn("only the legacy count says how many points there are (%d): taken", old)
		return
	case h.Format <= 5:
		// LAS 1.4 R15, table 3: the legacy value is to be used.
		p.warn("the legacy count says %d points, the extended one %d: the legacy one is taken", old, count)
		return
	default:
		p.warn("a legacy count of %d points stands beside point format %d, where it must be 0: left aside", old, h.Format)
	}
	h.Count = count
	for i := range newReturns {
		h.Returns[i] = le.Uint64(b[offReturns+8*i:])
	}
}

func (p *parser) box(b []byte) {
	h := &p.header
	for axis := range 3 {
		h.Max[axis], h.Min[axis] = getFloat(b[offBounds+16*axis:]), getFloat(b[offBounds+16*axis+8:])
		if h.Count > 0 && !(h.Min[axis] <= h.Max[axis]) {
			p.warn("the header's box runs from %g to %g in %c", h.Min[axis], h.Max[axis], "xyz"[axis])
		}
	}
}

// checkCount refuses a file that cannot hold the points it promises. Records
// are length bytes each; end is where they must stop.
func (p *parser) checkCount() error {
	length, room := uint64(p.header.RecordLength()), uint64(p.size-p.points)
	switch {
	case p.header.Count > room/length:
		return p.bad(mendCopy, "the header says %d points, the file has room for %d", p.header.Count, room/length)
	case p.header.Count == 0 && room >= length && p.evlrs == 0:
		p.warn("the header says 0 points, %d bytes follow it: its writer may have been interrupted", room)
	}
	if end := uint64(p.points) + p.header.Count*length; p.evlrs > 0 && p.evlrAt < end && p.evlrAt != 0 {
		return p.bad(mendRewrite, "extended records start at byte %d, among the points that end at %d", p.evlrAt, end)
	}
	return nil
}

package las

import (
	"encoding/binary"
	"math"
)

// Lengths in bytes of the headers of variable length records, and of the
// largest extended one that Open takes into memory: waveform packets may have
// many gigabytes, and nothing else comes near.
const (
	vlrHeader  = 54
	evlrHeader = 60
	userLength = 16
	evlrLoaded = 16 << 20
	gapLoaded  = 1 << 20
)

// A VLR is a variable length record, extended or not.
type VLR struct {
	// UserID and RecordID name its content.
	UserID      string
	RecordID    uint16
	Description string
	// Data is nil for an extended record above 16 MiB, as waveform packets
	// are; Len says how long it is.
	Data []byte
	// reserved keeps the first two bytes: 0 since LAS 1.1, 0xAABB before.
	reserved uint16
	// at and size place an extended record's data that was not loaded.
	at, size int64
}

// Is reports whether the record is the one with the given name.
func (v *VLR) Is(userID string, recordID uint16) bool {
	return v.UserID == userID && v.RecordID == recordID
}

// Len returns the length of the record's data in bytes, loaded or not.
func (v *VLR) Len() int64 {
	if v.Data == nil {
		return v.size
	}
	return int64(len(v.Data))
}

// appendTo appends the record as it stands before the points.
func (v *VLR) appendTo(b []byte) []byte {
	var head [vlrHeader]byte
	v.putNames(head[:])
	binary.LittleEndian.PutUint16(head[20:], uint16(len(v.Data)))
	copy(head[22:], v.Description)
	return append(append(b, head[:]...), v.Data...)
}

// extendedHead returns what stands before the data of an extended record.
func (v *VLR) extendedHead() []byte {
	head := make([]byte, evlrHeader)
	v.putNames(head)
	binary.LittleEndian.PutUint64(head[20:], uint64(v.Len()))
	copy(head[28:], v.Description)
	return head
}

func (v *VLR) putNames(head []byte) {
	binary.LittleEndian.PutUint16(head, v.reserved)
	copy(head[2:2+userLength], v.UserID)
	binary.LittleEndian.PutUint16(head[18:], v.RecordID)
}

func (v *VLR) getNames(head []byte) {
	v.reserved = binary.LittleEndian.Uint16(head)
	v.UserID = text(head[2 : 2+userLength])
	v.RecordID = binary.LittleEndian.Uint16(head[18:])
}

// fits reports whether the record can stand before the points, where its
// length is written in two bytes.
func (v *VLR) fits() bool { return len(v.Data) <= math.MaxUint16 }

// readVLRs reads the records between header and points. Their number is not
// believed: each takes room, and the room ends where points start.
func (p *parser) readVLRs() error {
	at := p.vlrStart
	for i := range p.vlrCount {
		if at+vlrHeader > p.points {
			return p.bad(mendRewrite, "the header says %d variable length records, there is room for %d", p.vlrCount, i)
		}
		var head [vlrHeader]byte
		if err := p.readAt(head[:], at); err != nil {
			return err
		}
		at += vlrHeader
		v := VLR{Description: text(head[22:])}
		v.getNames(head[:])
		size := int64(binary.LittleEndian.Uint16(head[20:]))
		if at+size > p.points {
			return p.bad(mendRewrite, "variable length record %d (%.16q %d) ends at byte %d, points start at %d",
				i+1, v.UserID, v.RecordID, at+size, p.points)
		}
		v.Data = make([]byte, size)
		if err := p.readAt(v.Data, at); err != nil {
			return err
		}
		at += size
		p.header.VLRs = append(p.header.VLRs, v)
	}
	if gap := p.points - at; gap > 0 && gap <= gapLoaded {
		p.header.pastVLRs = make([]byte, gap)
		return p.readAt(p.header.pastVLRs, at)
	}
	return nil
}

// readEVLRs reads the records behind the points, each checked against the
// end of the file.
func (p *parser) readEVLRs() error {
	if p.evlrs == 0 {
		return nil
	}
	if p.evlrAt < uint64(p.points) || p.evlrAt > uint64(p.size) {
		return p.bad(mendCopy, "extended records start at byte %d, outside the file of %d bytes", p.evlrAt, p.size)
	}
	at := int64(p.evlrAt)
	for i := range p.evlrs {
		if at+evlrHeader > p.size {
			return p.bad(mendCopy, "the header says %d extended records, the file has room for %d", p.evlrs, i)
		}
		var head [evlrHeader]byte
		if err := p.readAt(head[:], at); err != nil {
			return err
		}
		at += evlrHeader
		v := VLR{Description: text(head[28:]), at: at}
		v.getNames(head[:])
		size := binary.LittleEndian.Uint64(head[20:])
		if size > uint64(p.size-at) {
			return p.bad(mendCopy, "extended record %d (%.16q %d) has %d bytes, the file has %d left",
				i+1, v.UserID, v.RecordID, size, p.size-at)
		}
		v.size = int64(size)
		if v.size <= evlrLoaded {
			v.Data = make([]byte, size)
			if err := p.readAt(v.Data, at); err != nil {
				return err
			}
		}
		at += v.size
		p.header.EVLRs = append(p.header.EVLRs, v)
	}
	return nil
}

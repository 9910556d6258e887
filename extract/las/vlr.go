package las

import "encoding/binary"

// Lengths in bytes of the headers of variable length records, and of the
// largest extended one that Open takes into memory: waveform packets may have
// many gigabytes, and nothing else comes near.
const (
	vlrHeader  = 54
	evlrHeader = 60
	// Where the length of the data and the description stand in them.
	vlrLength       = 20
	vlrDescription  = 22
	evlrDescription = 28
	userLength      = 16
	evlrLoaded      = 16 << 20
	gapLoaded       = 1 << 20
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
	// original is the record's header as it was read, for a copy to the last
	// byte, and description where that stands in it.
	original    []byte
	description int
	// at and size place an extended record's data that was not loaded.
	at, size int64
}

// waves reports whether the record holds waveform packets.
func (v *VLR) waves() bool { return v.Is("LASF_Spec", 65535) }

// loaded reports whether the record's data are in memory.
func (v *VLR) loaded() bool { return v.Data != nil || v.size == 0 }

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
	head := v.head(vlrHeader, vlrDescription)
	binary.LittleEndian.PutUint16(head[vlrLength:], uint16(len(v.Data)))
	return append(append(b, head...), v.Data...)
}

// extendedHead returns what stands before the data of an extended record.
func (v *VLR) extendedHead() []byte {
	head := v.head(evlrHeader, evlrDescription)
	binary.LittleEndian.PutUint64(head[vlrLength:], uint64(v.Len()))
	return head
}

// head returns a record's header of the given length without the length of
// the data.
func (v *VLR) head(length, description int) []byte {
	head := make([]byte, length)
	if v.original != nil {
		copy(head[:vlrLength], v.original)
		copy(head[description:], v.original[v.description:])
	}
	putText(head[2:2+userLength], v.UserID)
	binary.LittleEndian.PutUint16(head[2+userLength:], v.RecordID)
	putText(head[description:], v.Description)
	return head
}

// newVLR returns the record that a header stands before, without its data.
func newVLR(head []byte, description int) VLR {
	return VLR{
		UserID:      text(head[2 : 2+userLength]),
		RecordID:    binary.LittleEndian.Uint16(head[2+userLength:]),
		Description: text(head[description:]),
		original:    head, description: description,
	}
}

// readVLRs reads the records between header and points. Their number is not
// believed: each takes room, and the room ends where points start.
func (p *parser) readVLRs() error {
	at := p.vlrStart
	for i := range p.vlrCount {
		if at+vlrHeader > p.points {
			return p.bad(mendRewrite, "the header says %d variable length records, there is room for %d", p.vlrCount, i)
		}
		head := make([]byte, vlrHeader)
		if err := p.readAt(head, at); err != nil {
			return err
		}
		at += vlrHeader
		v := newVLR(head, vlrDescription)
		size := int64(binary.LittleEndian.Uint16(head[vlrLength:]))
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
		head := make([]byte, evlrHeader)
		if err := p.readAt(head, at); err != nil {
			return err
		}
		at += evlrHeader
		v := newVLR(head, evlrDescription)
		size := binary.LittleEndian.Uint64(head[vlrLength:])
		if size > uint64(p.size-at) {
			return p.bad(mendCopy, "extended record %d (%.16q %d) has %d bytes, the file has %d left",
				i+1, v.UserID, v.RecordID, size, p.size-at)
		}
		v.at, v.size = at, int64(size)
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

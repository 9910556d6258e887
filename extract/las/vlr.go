package las

import (
	"encoding/binary"
	"math"
)

// Lengths of the headers of variable length records in bytes.
const (
	vlrHeader  = 54
	evlrHeader = 60
	userLength = 16
)

// A VLR is a variable length record, extended or not.
type VLR struct {
	// UserID and RecordID name its content.
	UserID      string
	RecordID    uint16
	Description string
	Data        []byte
	// reserved keeps the first two bytes: 0 since LAS 1.1, 0xAABB before.
	reserved uint16
}

// Is reports whether the record is the one with the given name.
func (v *VLR) Is(userID string, recordID uint16) bool {
	return v.UserID == userID && v.RecordID == recordID
}

// appendTo appends the record as it stands before the points.
func (v *VLR) appendTo(b []byte) []byte {
	var head [vlrHeader]byte
	v.putNames(head[:])
	binary.LittleEndian.PutUint16(head[20:], uint16(len(v.Data)))
	copy(head[22:], v.Description)
	return append(append(b, head[:]...), v.Data...)
}

// appendExtended appends the record as it stands behind the points.
func (v *VLR) appendExtended(b []byte) []byte {
	var head [evlrHeader]byte
	v.putNames(head[:])
	binary.LittleEndian.PutUint64(head[20:], uint64(len(v.Data)))
	copy(head[28:], v.Description)
	return append(append(b, head[:]...), v.Data...)
}

func (v *VLR) putNames(head []byte) {
	binary.LittleEndian.PutUint16(head, v.reserved)
	copy(head[2:2+userLength], v.UserID)
	binary.LittleEndian.PutUint16(head[18:], v.RecordID)
}

// fits reports whether the record can stand before the points, where its
// length is written in two bytes.
func (v *VLR) fits() bool { return len(v.Data) <= math.MaxUint16 }

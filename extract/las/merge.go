package las

import (
	"bytes"
	"math"
	"path/filepath"
)

// extraBytes reports whether the record says what the extra bytes of points mean.
func (v *VLR) extraBytes() bool { return v.Is("LASF_Spec", 4) }

// merge adds to the header of a first file the records of others whose points
// follow its own: each once, in the order of the files. Where one has the name of a
// record that is there and other content, the first stays and the report says
// which was left out; so it does of records that have no place in the output.
// Records of the coordinate system are not added: that of all files is the same
// here, however it is written.
func (h *Header) merge(first *File, others []*File, report *ConvertReport) {
	vlrs, evlrs := len(h.VLRs), len(h.EVLRs)
	h.VLRs, h.EVLRs = h.VLRs[:vlrs:vlrs], h.EVLRs[:evlrs:evlrs] // the file's own stay as they are
	added := 0
	for _, f := range others {
		theirs := f.copiedHeader(report)
		name := filepath.Base(f.path)
		for _, v := range append(theirs.VLRs[:len(theirs.VLRs):len(theirs.VLRs)], theirs.EVLRs...) {
			switch same, other := h.find(&v); {
			case same || v.UserID == projection:
			case other:
				report.note("of the cloud with classes: record %d of %q of %s is not written, for that of %s or a file before says something else", v.RecordID, v.UserID, name, filepath.Base(first.path))
			case v.Data == nil && v.size > 0, h.Version < 4 && len(v.Data) > math.MaxUint16:
				report.note("of the cloud with classes: record %d of %q of %s is not written, for it is too large", v.RecordID, v.UserID, name)
			default:
				v = VLR{UserID: v.UserID, RecordID: v.RecordID, Description: v.Description, Data: v.Data}
				if len(v.Data) > math.MaxUint16 {
					h.EVLRs = append(h.EVLRs, v)
				} else {
					h.VLRs = append(h.VLRs, v)
				}
				added++
			}
		}
	}
	if added > 0 {
		report.note("of the cloud with classes: %d records of other files than %s were added to its own", added, filepath.Base(first.path))
	}
}

// find looks for a record: one that says the same, or at least one of its name.
func (h *Header) find(v *VLR) (same, other bool) {
	for _, list := range [2][]VLR{h.VLRs, h.EVLRs} {
		for i := range list {
			if w := &list[i]; w.Is(v.UserID, v.RecordID) {
				same = same || w.Len() == v.Len() && w.loaded() && bytes.Equal(w.Data, v.Data)
				other = true
			}
		}
	}
	return same, other
}

// sameExtraBytes reports whether two files say the same of their extra bytes.
func sameExtraBytes(a, b *Header) bool {
	of := func(h *Header) []byte {
		for i := range h.VLRs {
			if h.VLRs[i].extraBytes() {
				return h.VLRs[i].Data
			}
		}
		return nil
	}
	return a.ExtraBytes == b.ExtraBytes && bytes.Equal(of(a), of(b))
}

package copc

import (
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
	"runtime"

	"quoin/extract/las/laz"
)

// WriterOptions govern a Writer.
type WriterOptions struct {
	// Workers is the number of nodes that are compressed at the same time, at
	// least 1. The bytes written don't depend on it.
	Workers int
	// Memory is how many points may be in memory, at least 1. Where there are
	// more, all of them go through temporary files, twice their size in LAS,
	// three times where a stray point is far away from all others.
	// The bytes written do depend on it.
	Memory int
	// Dir is where temporary files are made, "" for the system's place.
	Dir string
}

// DefaultWriterOptions returns options to use all cores and about half a
// gigabyte of memory.
func DefaultWriterOptions() WriterOptions {
	return WriterOptions{Workers: runtime.GOMAXPROCS(0), Memory: 8 << 20}
}

// Header is what a Writer can't know from the points.
type Header struct {
	// Format is 6, 7 or 8; records longer than it have extra bytes.
	Format, RecordLength int
	// Scale and Offset make coordinates of the records' integers.
	Scale, Offset [3]float64
	// SourceID and all below are as in the LAS header. The bit that says that
	// the CRS is well-known text is always set.
	SourceID         uint16
	Encoding         uint16
	GUID             [16]byte
	System, Software string
	Day, Year        uint16
	// VLRs are further records before the points: the CRS as well-known text,
	// the description of extra bytes. EVLRs are those behind. Records of COPC
	// itself and of LAZ are left out, for the file gets its own.
	VLRs, EVLRs []Record
}

// Record is a variable length record.
type Record struct {
	UserID      string
	ID          uint16
	Description string
	Data        []byte
}

// Stats tells what was written.
type Stats struct {
	Points uint64
	// Nodes is the number of nodes that have points, Levels that of levels.
	Nodes, Levels int
}

// Writer writes a COPC file. Points are in the order of the octree, not in that
// in which they come; of one node they keep their order. The tree follows from
// the points and their order alone.
//
// A node has at most one point in each of 128 cells a side of its cube, and
// those that would make too small a child; the last ones have all that is left.
//
// Memory holds Options.Memory points and 16 bytes with each, the chunks being
// compressed, and for each node above the parts of that many points a quarter
// of a megabyte and its points.
type Writer struct {
	file   io.WriterAt
	header Header
	o      WriterOptions
	record laz.Record
	spill  *spill
	tally  tally
	closed bool
}

// NewWriter returns a writer to a file, which is written from its beginning.
// The caller must end with Close or Abort.
func NewWriter(file io.WriterAt, h Header, o WriterOptions) (*Writer, error) {
	if h.Format < firstFormat || h.Format > lastFormat {
		return nil, fmt.Errorf("copc: point format %d is none of 6, 7, 8", h.Format)
	}
	if o.Workers < 1 || o.Memory < 1 {
		return nil, fmt.Errorf("copc: %d workers can't write with %d points in memory", o.Workers, o.Memory)
	}
	for i := range 3 {
		s := h.Scale[i]
		if s == 0 || math.IsNaN(s*h.Offset[i]) || math.IsInf(s, 0) || math.IsInf(h.Offset[i], 0) {
			return nil, fmt.Errorf("copc: scale %v and offset %v make no coordinates", h.Scale, h.Offset)
		}
	}
	rec, err := laz.NewRecord(h.Format, h.RecordLength)
	if err != nil {
		return nil, fmt.Errorf("copc: %w", err)
	}
	rec.ChunkSize = laz.VariableChunks
	for _, list := range []*[]Record{&h.VLRs, &h.EVLRs} {
		*list = foreign(*list)
		for _, r := range *list {
			if len(r.UserID) > 16 || len(r.Description) > 32 {
				return nil, fmt.Errorf("copc: the names of record %q %d are too long", r.UserID, r.ID)
			}
		}
	}
	for _, r := range h.VLRs {
		if len(r.Data) > maxVLRData {
			return nil, fmt.Errorf("copc: record %q %d is too long to stand before the points", r.UserID, r.ID)
		}
	}
	return &Writer{
		file: file, header: h, o: o, record: rec, tally: newTally(),
		spill: &spill{size: h.RecordLength, most: o.Memory * h.RecordLength, dir: o.Dir},
	}, nil
}

// foreign returns the records that are not of COPC or LAZ.
func foreign(list []Record) []Record {
	var kept []Record
	for _, r := range list {
		if !(r.UserID == userID && (r.ID == infoID || r.ID == hierarchyID) || r.UserID == laz.UserID && r.ID == laz.RecordID) {
			kept = append(kept, r)
		}
	}
	return kept
}

// Write adds point records, whole and back to back. They aren't kept.
func (w *Writer) Write(records []byte) error {
	if w.closed {
		return errors.New("copc: write: the writer is closed")
	}
	if len(records)%w.header.RecordLength != 0 {
		return fmt.Errorf("copc: write: %d bytes are no whole number of records of %d", len(records), w.header.RecordLength)
	}
	for rest := records; len(rest) > 0; rest = rest[w.header.RecordLength:] {
		w.tally.add(rest)
	}
	if err := w.spill.write(records); err != nil {
		return fmt.Errorf("copc: write: %w", err)
	}
	return nil
}

// Abort ends all work; the file is then good for nothing. After Close it does
// nothing.
func (w *Writer) Abort() {
	w.closed = true
	w.spill.remove()
}

// Close builds the tree and writes the file. The context is looked at from node
// to node.
func (w *Writer) Close(ctx context.Context) (Stats, error) {
	if w.closed {
		return Stats{}, errors.New("copc: the writer is closed")
	}
	defer w.Abort()
	cube := w.tally.cube(w.header.Scale, w.header.Offset)
	if err := cube.info.check(); err != nil {
		return Stats{}, fmt.Errorf("copc: %w", err)
	}
	before := w.before()
	start := int64(headerSize + infoSize + vlrHead + len(before))
	points, err := laz.NewWriter(w.file, start, w.record, laz.WriterOptions{Workers: w.o.Workers})
	if err != nil {
		return Stats{}, fmt.Errorf("copc: %w", err)
	}
	defer points.Abort()
	b := &builder{ctx: ctx, out: points, cube: cube, size: w.header.RecordLength, memory: w.o.Memory}
	if err := b.build(w.spill); err != nil {
		return Stats{}, fmt.Errorf("copc: %w", err)
	}
	end, err := points.Close()
	if err != nil {
		return Stats{}, fmt.Errorf("copc: %w", err)
	}
	pages := paginate(b.keys, points.Chunks(), end+evlrHead)
	cube.info.rootAt, cube.info.rootSize = uint64(end+evlrHead), uint64(pages.root)
	w.tally.times(&cube.info)
	after := extended(Record{userID, hierarchyID, "hierarchy", pages.data})
	for _, r := range w.header.EVLRs {
		after = append(after, extended(r)...)
	}
	front := append(w.head(start, end), short(Record{userID, infoID, "COPC info", cube.info.marshal()})...)
	if err := w.put(after, end, append(front, before...)); err != nil {
		return Stats{}, fmt.Errorf("copc: write: %w", err)
	}
	return b.stats(), nil
}

// put writes what stands behind the points and, last, what stands before.
func (w *Writer) put(after []byte, end int64, front []byte) error {
	if _, err := w.file.WriteAt(after, end); err != nil {
		return err
	}
	_, err := w.file.WriteAt(front, 0)
	return err
}

// before returns the records before the points but the first one.
func (w *Writer) before() []byte {
	b := short(Record{laz.UserID, laz.RecordID, "", w.record.Marshal()})
	for _, r := range w.header.VLRs {
		b = append(b, short(r)...)
	}
	return b
}

// short returns a variable length record.
func short(r Record) []byte {
	b := make([]byte, vlrHead, vlrHead+len(r.Data))
	copy(b[2:18], r.UserID)
	binary.LittleEndian.PutUint16(b[18:], r.ID)
	binary.LittleEndian.PutUint16(b[20:], uint16(len(r.Data)))
	copy(b[22:], r.Description)
	return append(b, r.Data...)
}

// extended returns an extended variable length record.
func extended(r Record) []byte {
	b := make([]byte, evlrHead, evlrHead+len(r.Data))
	copy(b[2:18], r.UserID)
	binary.LittleEndian.PutUint16(b[18:], r.ID)
	binary.LittleEndian.PutUint64(b[20:], uint64(len(r.Data)))
	copy(b[28:], r.Description)
	return append(b, r.Data...)
}

// head returns the LAS header.
func (w *Writer) head(start, end int64) []byte {
	le := binary.LittleEndian
	b := make([]byte, headerSize)
	h := w.header
	copy(b, signature)
	le.PutUint16(b[4:], h.SourceID)
	le.PutUint16(b[headerEncoding:], h.Encoding|encodingWKT)
	copy(b[8:24], h.GUID[:])
	b[24], b[25] = 1, minorVersion
	copy(b[26:58], h.System)
	copy(b[58:90], h.Software)
	le.PutUint16(b[90:], h.Day)
	le.PutUint16(b[92:], h.Year)
	le.PutUint16(b[94:], headerSize)
	le.PutUint32(b[96:], uint32(start))
	le.PutUint32(b[100:], uint32(2+len(h.VLRs)))
	b[104] = byte(h.Format) | compressedBit
	le.PutUint16(b[105:], uint16(h.RecordLength))
	low, high := w.tally.box(h.Scale, h.Offset)
	for i := range 3 {
		le.PutUint64(b[131+8*i:], math.Float64bits(h.Scale[i]))
		le.PutUint64(b[155+8*i:], math.Float64bits(h.Offset[i]))
		le.PutUint64(b[179+16*i:], math.Float64bits(high[i]))
		le.PutUint64(b[187+16*i:], math.Float64bits(low[i]))
	}
	le.PutUint64(b[235:], uint64(end))
	le.PutUint32(b[243:], uint32(1+len(h.EVLRs)))
	le.PutUint64(b[247:], w.tally.points)
	for i, n := range w.tally.returns {
		le.PutUint64(b[255+8*i:], n)
	}
	return b
}

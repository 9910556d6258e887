package las

import (
	"bufio"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"runtime"

	"quoin/extract/cloud"
)

// writeBuffer is the size of one write to the disk in bytes.
const writeBuffer = 1 << 20

// A Writer writes one LAS or LAZ file. It is not safe for concurrent use.
//
// The file has a temporary name (the final one with ".partial" behind it)
// until Close renames it; a Writer that is neither closed nor aborted leaves
// only that.
type Writer struct {
	path    string
	file    *os.File
	out     *output
	points  sink
	packed  bool // points are compressed
	workers int  // goroutines that compress
	header  Header
	head    []byte // everything before the points
	encoder encoder
	tally   tally
	// source is set when the file is a copy: extended records that were not
	// loaded are read from it. claimed is then what the source's header says.
	source  io.ReaderAt
	claimed *Header
	err     error // the first one: the file is spoilt
}

// A sink takes the point records. Close returns where they end in the file.
type sink interface {
	Write(records []byte) error
	Close() (end int64, err error)
	Abort()
}

// plain is the sink of an uncompressed file.
type plain struct{ out *output }

func (p plain) Write(records []byte) error {
	_, err := p.out.Write(records)
	return err
}

func (p plain) Close() (int64, error) { return p.out.at, nil }

func (p plain) Abort() {}

// An output is a buffered file that knows where it is.
type output struct {
	*bufio.Writer
	at int64
}

func (o *output) Write(b []byte) (int, error) {
	n, err := o.Writer.Write(b)
	o.at += int64(n)
	return n, err
}

// Create starts a LAS file of version 1.2 to 1.4 at path; one whose name ends
// in .laz is compressed, on all cores, the bytes not depending on their number.
//
// Scale must be above 0 on each axis and the CRS one that the version can
// hold: formats 6 to 10 need it as WKT, versions below 1.4 by its EPSG code.
// The version must know the point format.
func Create(path string, h Header) (*Writer, error) {
	if h.Version < 2 || h.Version > 4 {
		return nil, fmt.Errorf("las: create %s: LAS 1.%d is not written: choose 1.2, 1.3 or 1.4", path, h.Version)
	}
	w := &Writer{path: path, header: h, packed: isPacked(path), workers: runtime.GOMAXPROCS(0)}
	if err := w.header.placeCRS(); err != nil {
		return nil, fmt.Errorf("las: create %s: %w", path, err)
	}
	if err := w.start(); err != nil {
		return nil, err
	}
	return w, nil
}

// createCopy starts a file with the header of one that was read: of any
// version, records and padding as they are, and counts and box as they stand
// where the points bear them out.
func createCopy(path string, h Header, source io.ReaderAt, workers int) (*Writer, error) {
	w := &Writer{path: path, header: h, packed: isPacked(path), workers: workers, source: source, claimed: &h}
	if err := w.start(); err != nil {
		return nil, err
	}
	return w, nil
}

func (w *Writer) partial() string { return w.path + ".partial" }

// start checks the header, opens the file and writes what is before the
// points.
func (w *Writer) start() error {
	if err := w.header.writable(w.source != nil); err != nil {
		return fmt.Errorf("las: create %s: %w", w.path, err)
	}
	if err := w.layOut(); err != nil {
		return fmt.Errorf("las: create %s: %w", w.path, err)
	}
	file, err := os.OpenFile(w.partial(), os.O_RDWR|os.O_CREATE|os.O_TRUNC, 0o666)
	if err != nil {
		return fmt.Errorf("las: create: %w", err)
	}
	w.file, w.out = file, &output{Writer: bufio.NewWriterSize(file, writeBuffer)}
	w.points = plain{w.out}
	_, err = w.out.Write(w.head)
	if err == nil && w.packed {
		err = w.pack()
	}
	if err != nil {
		w.Abort()
		return fmt.Errorf("las: create: %w", err)
	}
	return nil
}

// layOut puts together everything before the points.
func (w *Writer) layOut() error {
	h := &w.header
	h.Count, h.Returns, h.Min, h.Max = 0, [15]uint64{}, [3]float64{}, [3]float64{}
	layout, _ := LayoutOf(h.Format)
	w.encoder = encoder{layout: layout, length: h.RecordLength(), scale: h.Scale, offset: h.Offset}
	w.tally = newTally(layout, h.RecordLength())
	w.head = make([]byte, headerSizeOf(h.Version)+len(h.pastHeader))
	records := h.VLRs
	if w.packed {
		v, err := packedRecord(h)
		if err != nil {
			return err
		}
		records = append(records[:len(records):len(records)], v)
	}
	h.put(w.head)
	binary.LittleEndian.PutUint32(w.head[offVLRCount:], uint32(len(records)))
	if w.packed {
		w.head[offFormat] |= packedBit
	}
	for i := range records {
		w.head = records[i].appendTo(w.head)
	}
	w.head = append(w.head, h.pastVLRs...)
	if len(w.head) > math.MaxUint32 {
		return errors.New("the variable length records are larger than 4 GiB")
	}
	binary.LittleEndian.PutUint32(w.head[offPoints:], uint32(len(w.head)))
	return nil
}

// writable looks for what no file can be written from. A copy may have
// records that stayed in the source.
func (h *Header) writable(copied bool) error {
	layout, ok := LayoutOf(h.Format)
	switch {
	case !ok || h.Format > formatsOf(h.Version) && !copied:
		return fmt.Errorf("LAS 1.%d has no point format %d", h.Version, h.Format)
	case h.ExtraBytes < 0 || layout.Length+h.ExtraBytes > math.MaxUint16:
		return fmt.Errorf("%d extra bytes do not fit in a record", h.ExtraBytes)
	case len(h.EVLRs) > 0 && h.Version < 4 && !copied:
		return fmt.Errorf("LAS 1.%d has no extended variable length records", h.Version)
	}
	for axis := range 3 {
		if s := h.Scale[axis]; !(s > 0) || math.IsInf(s, 0) {
			return fmt.Errorf("the %c scale is %g: it must be above 0", "xyz"[axis], s)
		}
		if o := h.Offset[axis]; math.IsNaN(o) || math.IsInf(o, 0) {
			return fmt.Errorf("the %c offset is %g", "xyz"[axis], o)
		}
	}
	for i := range h.VLRs {
		if v := &h.VLRs[i]; len(v.Data) > math.MaxUint16 {
			return fmt.Errorf("record %s %d has %d bytes: above 65535 it must be an extended one", v.UserID, v.RecordID, len(v.Data))
		}
	}
	for i := range h.EVLRs {
		if v := &h.EVLRs[i]; !v.loaded() && !copied {
			return fmt.Errorf("record %s %d of %d bytes was not loaded: drop it or convert the file", v.UserID, v.RecordID, v.Len())
		}
	}
	return nil
}

// Write appends the points of a batch, whose coordinates are in CRS units.
//
// A nil column is written as zeros. Coordinates are rounded to the nearest
// step of the scale and scan angles to the format's step (1° or 0.006°); any
// value that the format cannot hold is an error, and nothing of the batch is
// written then. Time and colour are left out where the format has none.
func (w *Writer) Write(b *cloud.Batch) error {
	records, err := w.encoder.encode(b)
	if err != nil {
		return fmt.Errorf("las: write %s: %w", w.path, err)
	}
	return w.WriteRecords(records)
}

// WriteRecords appends raw point records of the header's format and length.
func (w *Writer) WriteRecords(records []byte) error {
	if w.err != nil {
		return w.err
	}
	if len(records)%w.encoder.length != 0 {
		return fmt.Errorf("las: write %s: %d bytes are no whole number of records of %d bytes",
			w.path, len(records), w.encoder.length)
	}
	w.tally.add(records)
	if err := w.points.Write(records); err != nil {
		w.err = fmt.Errorf("las: write: %w", err)
	}
	return w.err
}

// Close writes the extended records, puts counts and bounds into the header
// and gives the file its name. On an error the partial file is removed.
func (w *Writer) Close() error {
	if w.file == nil {
		return nil
	}
	if w.err == nil {
		w.err = w.finish()
	}
	if w.err != nil {
		w.Abort()
		return w.err
	}
	err := w.file.Close()
	w.file = nil
	if err == nil {
		err = os.Rename(w.partial(), w.path)
	}
	if err != nil {
		_ = os.Remove(w.partial())
		return fmt.Errorf("las: close: %w", err)
	}
	return nil
}

func (w *Writer) finish() error {
	h := &w.header
	w.tally.into(h)
	if h.Version < 4 && h.Count > math.MaxUint32 {
		return fmt.Errorf("las: close %s: LAS 1.%d cannot count %d points: write LAS 1.4", w.path, h.Version, h.Count)
	}
	if w.claimed != nil {
		h.keepBox(w.claimed)
	}
	start, err := w.points.Close()
	if err == nil && w.packed {
		err = w.out.move(w.file, start)
	}
	if err == nil {
		err = w.extendedRecords()
	}
	if err == nil {
		err = w.out.Flush()
	}
	if err != nil {
		return fmt.Errorf("las: close: %w", err)
	}
	head := w.head[:headerSizeOf(h.Version)]
	h.putCounts(head)
	if h.Version >= 4 {
		if len(h.EVLRs) == 0 {
			start = 0
		}
		binary.LittleEndian.PutUint64(head[offEVLRs:], uint64(start))
		binary.LittleEndian.PutUint32(head[offEVLRCount:], uint32(len(h.EVLRs)))
	}
	if _, err := w.file.WriteAt(head, 0); err != nil {
		return fmt.Errorf("las: close: %w", err)
	}
	return nil
}

// keepBox takes over a box that the points bear out: it may have been made
// from unrounded coordinates, and a copy should not differ.
func (h *Header) keepBox(claimed *Header) {
	for axis := range 3 {
		if claimed.sameBox(h, axis) {
			h.Min[axis], h.Max[axis] = claimed.Min[axis], claimed.Max[axis]
		}
	}
}

func (w *Writer) extendedRecords() error {
	for i := range w.header.EVLRs {
		v := &w.header.EVLRs[i]
		if v.waves() && w.header.Encoding&InternalWaves != 0 {
			w.header.WaveStart = uint64(w.out.at)
		}
		if _, err := w.out.Write(v.extendedHead()); err != nil {
			return err
		}
		var err error
		if v.loaded() {
			_, err = w.out.Write(v.Data)
		} else {
			// Not through the buffer's own ReadFrom, which would not count.
			_, err = io.Copy(struct{ io.Writer }{w.out}, io.NewSectionReader(w.source, v.at, v.size))
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// Abort drops the file. It does nothing after Close.
func (w *Writer) Abort() {
	if w.file == nil {
		return
	}
	w.points.Abort()
	_ = w.file.Close()
	_ = os.Remove(w.partial())
	w.file = nil
}

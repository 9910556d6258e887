package las

import (
	"bufio"
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"os"

	"quoin/extract/cloud"
)

// writeBuffer is the size of one write to the disk in bytes.
const writeBuffer = 1 << 20

// A Writer writes one LAS file. It is not safe for concurrent use.
//
// The file has a temporary name (the final one with ".partial" behind it)
// until Close renames it; a Writer that is neither closed nor aborted leaves
// only that.
type Writer struct {
	path    string
	file    *os.File
	out     *bufio.Writer
	header  Header
	head    []byte // the bytes of the header
	encoder encoder
	tally   tally
	err     error // the first one: the file is spoilt
}

// Create starts a LAS file of version 1.2 to 1.4 at path.
//
// Scale must be above 0 on each axis and the CRS one that the version can
// hold: formats 6 to 10 need it as WKT, versions below 1.4 by its EPSG code.
// The version must know the point format.
func Create(path string, h Header) (*Writer, error) {
	w := &Writer{path: path, header: h}
	if err := w.prepare(); err != nil {
		return nil, fmt.Errorf("las: create %s: %w", path, err)
	}
	file, err := os.OpenFile(w.partial(), os.O_RDWR|os.O_CREATE|os.O_TRUNC, 0o666)
	if err != nil {
		return nil, fmt.Errorf("las: create: %w", err)
	}
	w.file, w.out = file, bufio.NewWriterSize(file, writeBuffer)
	if _, err := w.out.Write(w.head); err != nil {
		w.Abort()
		return nil, fmt.Errorf("las: create: %w", err)
	}
	return w, nil
}

func (w *Writer) partial() string { return w.path + ".partial" }

// prepare checks the header and lays out everything before the points.
func (w *Writer) prepare() error {
	h := &w.header
	if err := h.writable(); err != nil {
		return err
	}
	if err := h.placeCRS(); err != nil {
		return err
	}
	h.Count, h.Returns, h.Min, h.Max = 0, [15]uint64{}, [3]float64{}, [3]float64{}
	layout, _ := LayoutOf(h.Format)
	w.encoder = encoder{layout: layout, length: h.RecordLength(), scale: h.Scale, offset: h.Offset}
	w.tally = newTally(layout, h.RecordLength())
	size := headerSizeOf(h.Version) + len(h.pastHeader)
	w.head = make([]byte, size)
	h.put(w.head)
	for i := range h.VLRs {
		w.head = h.VLRs[i].appendTo(w.head)
	}
	w.head = append(w.head, h.pastVLRs...)
	if len(w.head) > math.MaxUint32 {
		return errors.New("the variable length records are larger than 4 GiB")
	}
	binary.LittleEndian.PutUint32(w.head[offPoints:], uint32(len(w.head)))
	return nil
}

func (h *Header) writable() error {
	layout, ok := LayoutOf(h.Format)
	switch {
	case h.Version < 2 || h.Version > 4:
		return fmt.Errorf("LAS 1.%d is not written: choose 1.2, 1.3 or 1.4", h.Version)
	case !ok || h.Format > formatsOf(h.Version):
		return fmt.Errorf("LAS 1.%d has no point format %d", h.Version, h.Format)
	case h.ExtraBytes < 0 || layout.Length+h.ExtraBytes > math.MaxUint16:
		return fmt.Errorf("%d extra bytes do not fit in a record", h.ExtraBytes)
	case len(h.EVLRs) > 0 && h.Version < 4:
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
		if !h.VLRs[i].fits() {
			return fmt.Errorf("record %s %d has %d bytes: above 65535 it must be an extended one",
				h.VLRs[i].UserID, h.VLRs[i].RecordID, len(h.VLRs[i].Data))
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
	if _, err := w.out.Write(records); err != nil {
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
	head := w.head[:headerSizeOf(h.Version)]
	h.putCounts(head)
	if len(h.EVLRs) > 0 {
		start := uint64(len(w.head)) + h.Count*uint64(h.RecordLength())
		binary.LittleEndian.PutUint64(head[offEVLRs:], start)
		binary.LittleEndian.PutUint32(head[offEVLRCount:], uint32(len(h.EVLRs)))
	}
	for i := range h.EVLRs {
		if _, err := w.out.Write(append(h.EVLRs[i].extendedHead(), h.EVLRs[i].Data...)); err != nil {
			return fmt.Errorf("las: close: %w", err)
		}
	}
	if err := w.out.Flush(); err != nil {
		return fmt.Errorf("las: close: %w", err)
	}
	if _, err := w.file.WriteAt(head, 0); err != nil {
		return fmt.Errorf("las: close: %w", err)
	}
	return nil
}

// Abort drops the file. It does nothing after Close.
func (w *Writer) Abort() {
	if w.file == nil {
		return
	}
	_ = w.file.Close()
	_ = os.Remove(w.partial())
	w.file = nil
}

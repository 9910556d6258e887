package las

import (
	"context"
	"encoding/binary"
	"fmt"
	"math"
	"path/filepath"
	"strings"

	"quoin/extract/cloud"
	"quoin/vector"
)

// RelabelOptions govern Relabel.
type RelabelOptions struct {
	// Upgrade rewrites point formats 0 to 3 as 6 and 7 of LAS 1.4.
	Upgrade bool
	// Define is as for Convert; it is needed for Upgrade only.
	Define func(vector.CRS) (vector.CRS, error)
	// Workers is the number of goroutines that compress and decompress, at
	// least 1. The bytes do not depend on it.
	Workers int
}

// A Labeller gives points new classes: classes holds what they have, and what
// they are to have when it returns. Of the batch, coordinates, return numbers,
// class and flags are set.
type Labeller func(points *cloud.Batch, classes []uint8)

// Classes of the ASPRS that formats 0 to 5 do not know, and what stands for
// them there.
const (
	classLowNoise   = 7
	classBridgeDeck = 17
	classHighNoise  = 18
)

// Relabel writes the points of all files, one file after the other, into one
// LAS or LAZ file with the classes that label gives. All other fields, extra
// bytes and records stay as they are; of several files, the records of each that the
// first does not have are added to its own. Formats 0 to 5 have no bridge deck and no high noise: these
// points get classes 1 and 7 there unless o.Upgrade is set.
//
// Files that cannot share one file without a loss are refused: point formats,
// extra bytes or scales that differ, and several files with waveform packets.
// On an error, there is no output.
func Relabel(ctx context.Context, files []*File, out string, o RelabelOptions, label Labeller) (ConvertReport, error) {
	first := files[0]
	report := ConvertReport{From: first.header.Format, To: first.header.Format}
	if name := strings.ToLower(filepath.Base(out)); strings.HasSuffix(name, ".copc.laz") || !isPacked(name) && !strings.HasSuffix(name, ".las") {
		return report, fmt.Errorf("las: write %s: the name must end in .las or .laz, and not in .copc.laz", out)
	}
	for _, f := range files[1:] {
		if err := first.sameRecords(f); err != nil {
			return report, err
		}
	}
	w, done, promote, err := first.relabelled(files[1:], out, o, &report)
	if err != nil {
		return report, err
	}
	defer done()
	defer w.Abort()
	r := relabeller{w: w, label: label, promote: promote}
	for _, f := range files {
		if err := r.copy(ctx, f.Workers(o.Workers), first); err != nil {
			return report, err
		}
	}
	if err := w.Close(); err != nil {
		return report, err
	}
	report.Points = w.header.Count
	if promote != nil {
		promote.notes(&report)
	}
	return report, nil
}

// sameRecords looks for what keeps the points of two files out of one.
func (f *File) sameRecords(g *File) error {
	layout, _ := LayoutOf(f.header.Format)
	switch {
	case f.header.Format != g.header.Format:
		return &FormatError{Path: g.path, What: fmt.Sprintf("the points have format %d, those of %s %d", g.header.Format, f.path, f.header.Format), Mend: "classify the files one by one"}
	case !sameExtraBytes(&f.header, &g.header) || f.header.Scale != g.header.Scale:
		return &FormatError{Path: g.path, What: fmt.Sprintf("extra bytes, what is said of them, or scale differ from those of %s", f.path), Mend: "classify the files one by one"}
	case layout.Wave != absent:
		return &FormatError{Path: g.path, What: "waveform packets of several files do not fit in one", Mend: "classify the files one by one"}
	}
	return nil
}

// relabelled starts the output, with what records the files that follow have
// besides. promote is nil where the format stays.
func (f *File) relabelled(others []*File, out string, o RelabelOptions, report *ConvertReport) (w *Writer, done func(), promote *promoter, err error) {
	layout, _ := LayoutOf(f.header.Format)
	if o.Upgrade && !layout.Extended {
		p, format, err := newPromoter(&f.header)
		if err != nil {
			return nil, nil, nil, &FormatError{Path: f.path, What: fmt.Sprintf("point format %d has waveform packets and is not rewritten", f.header.Format), Mend: "leave --upgrade-format out"}
		}
		h := f.copiedHeader(report)
		h.merge(f, others, report)
		h.Format, h.Version, report.To = format, 4, format
		h.original, h.pastHeader, h.pastVLRs = nil, nil, nil
		if h.CRS.Known() && h.CRS.WKT == "" && o.Define != nil {
			if h.CRS, err = o.Define(h.CRS); err != nil {
				return nil, nil, nil, fmt.Errorf("las: write %s: %w", out, err)
			}
		}
		w, err := Create(out, h)
		return w, func() {}, p, err
	}
	source, done, err := f.input.open()
	if err != nil {
		return nil, nil, nil, fmt.Errorf("las: write: %w", err)
	}
	h := f.copiedHeader(report)
	h.merge(f, others, report)
	if w, err = createCopy(out, h, source, max(o.Workers, 1)); err != nil {
		done()
		return nil, nil, nil, err
	}
	return w, done, nil, nil
}

// A relabeller copies records with new classes.
type relabeller struct {
	w       *Writer
	label   Labeller
	promote *promoter
	buffer  []byte
	classes []uint8
}

func (r *relabeller) copy(ctx context.Context, f, first *File) error {
	d := newDecoder(&f.header, Class|Flags)
	for records, err := range f.Records(ctx) {
		if err != nil {
			return err
		}
		for len(records) > 0 {
			n := min(len(records), chunkPoints*d.length)
			if err := r.write(d, records[:n], f, first); err != nil {
				return err
			}
			records = records[n:]
		}
	}
	return nil
}

func (r *relabeller) write(d *decoder, records []byte, f, first *File) error {
	b := d.decode(records)
	r.buffer = append(r.buffer[:0], records...)
	r.classes = append(r.classes[:0], b.Class...)
	r.label(b, r.classes)
	for i, class := range r.classes {
		rec := r.buffer[i*d.length : (i+1)*d.length]
		switch {
		case d.layout.Extended:
			rec[16] = class
		case r.promote != nil || class == b.Class[i]:
			rec[15] = rec[15]&0xE0 | class
		default:
			rec[15] = rec[15]&0xE0 | oldClass(class)
		}
	}
	if err := shift(r.buffer, d.length, &f.header, &first.header); err != nil {
		return fmt.Errorf("las: %s: %w", f.path, err)
	}
	out := r.buffer
	if r.promote != nil {
		out = r.promote.promote(out)
	}
	return r.w.WriteRecords(out)
}

// oldClass returns what formats 0 to 5 have for a class.
func oldClass(class uint8) uint8 {
	switch class {
	case classBridgeDeck:
		return classUnclassified
	case classHighNoise:
		return classLowNoise
	}
	return class
}

// shift rewrites coordinates from one header's offsets to another's. The
// difference must be a whole number of steps, or points would move.
func shift(records []byte, length int, from, to *Header) error {
	for axis := range 3 {
		steps := (from.Offset[axis] - to.Offset[axis]) / from.Scale[axis]
		whole := math.Round(steps)
		if whole == 0 && from.Offset[axis] == to.Offset[axis] {
			continue
		}
		if math.Abs(steps-whole) > 1e-3 {
			return fmt.Errorf("the %c offset lies between the steps of the first file: classify the files one by one", "xyz"[axis])
		}
		for at := 4 * axis; at < len(records); at += length {
			v := float64(int32(binary.LittleEndian.Uint32(records[at:]))) + whole
			if v < math.MinInt32 || v > math.MaxInt32 {
				return fmt.Errorf("%c is too far from the first file's offset: classify the files one by one", "xyz"[axis])
			}
			binary.LittleEndian.PutUint32(records[at:], uint32(int32(v)))
		}
	}
	return nil
}

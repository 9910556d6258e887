package las

import (
	"context"
	"fmt"
	"path/filepath"
	"strings"

	"quoin/vector"
)

// ConvertOptions govern Convert.
type ConvertOptions struct {
	// Define returns a CRS with its well-known text. It is needed only where
	// GeoTIFF keys must become text: for point formats 0 to 5 to COPC. Package
	// vector/crs has it; it may be nil.
	Define func(vector.CRS) (vector.CRS, error)
	// Workers is the number of goroutines that compress and decompress, at
	// least 1. The bytes do not depend on it.
	Workers int
}

// ConvertReport tells what Convert did.
type ConvertReport struct {
	Points uint64
	// From and To are the point formats; they differ only where COPC asks
	// for another.
	From, To uint8
	// Reordered is set when points are no longer in the order of the input.
	Reordered bool
	// Notes are sentences for whoever is to know: what was dropped, what was
	// changed.
	Notes []string
}

func (r *ConvertReport) note(what string, args ...any) {
	r.Notes = append(r.Notes, fmt.Sprintf(what, args...))
}

// Convert writes the points of a LAS or LAZ file into another one, whose
// name says what it is to be: .las, .laz or .copc.laz.
//
// Between LAS and LAZ nothing is lost: all fields, extra bytes, variable length
// records and padding are kept, in the order they have. Counts and box are
// kept too where the points bear them out. The hierarchy of a COPC input is
// dropped, for it would point to nowhere.
//
// COPC puts points into another order and knows formats 6 to 8 only: 0 to 3
// are rewritten with no field lost, waveform packets refused. A FormatError
// tells what is wrong with the input; on any error, there is no output.
func Convert(ctx context.Context, in, out string, o ConvertOptions) (ConvertReport, error) {
	f, err := Open(in)
	if err != nil {
		return ConvertReport{}, err
	}
	name := strings.ToLower(filepath.Base(out))
	switch {
	case strings.HasSuffix(name, ".copc.laz"):
		return f.toCOPC(ctx, out, o)
	case strings.HasSuffix(name, ".laz"), strings.HasSuffix(name, ".las"):
		return f.Workers(o.Workers).copyTo(ctx, out)
	}
	return ConvertReport{}, fmt.Errorf("las: convert to %s: the name must end in .las, .laz or .copc.laz", out)
}

// copyTo writes the file's points and records as they are.
func (f *File) copyTo(ctx context.Context, out string) (ConvertReport, error) {
	report := ConvertReport{From: f.header.Format, To: f.header.Format}
	source, done, err := f.input.open()
	if err != nil {
		return report, fmt.Errorf("las: convert: %w", err)
	}
	defer done()
	w, err := createCopy(out, f.copiedHeader(&report), source, f.workers)
	if err != nil {
		return report, err
	}
	defer w.Abort()
	for records, err := range f.Records(ctx) {
		if err != nil {
			return report, err
		}
		if err := w.WriteRecords(records); err != nil {
			return report, err
		}
	}
	if err := w.Close(); err != nil {
		return report, err
	}
	report.Points = w.header.Count
	report.Notes = append(report.Notes, f.header.differences(&w.header)...)
	return report, nil
}

// copiedHeader returns the header without what describes only the file that
// was read.
func (f *File) copiedHeader(report *ConvertReport) Header {
	h := f.Header()
	keep := func(records []VLR) []VLR {
		var kept []VLR
		for _, v := range records {
			if v.UserID == "copc" && (v.RecordID == copcInfo || v.RecordID == copcHierarchy) {
				continue
			}
			kept = append(kept, v)
		}
		return kept
	}
	before := len(h.VLRs) + len(h.EVLRs)
	h.VLRs, h.EVLRs = keep(h.VLRs), keep(h.EVLRs)
	if len(h.VLRs)+len(h.EVLRs) < before {
		report.note("the hierarchy of the COPC file was dropped: it describes that file only")
	}
	return h
}

// Record ids under the user id copc (COPC 1.0).
const (
	copcInfo      = 1
	copcHierarchy = 1000
)

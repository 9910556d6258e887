package las

import (
	"context"
	"encoding/binary"
	"fmt"
	"os"

	"quoin/extract/las/copc"
)

// toCOPC writes the file's points as COPC: in a format that it knows, in the
// order of its octree.
func (f *File) toCOPC(ctx context.Context, out string, o ConvertOptions) (ConvertReport, error) {
	report := ConvertReport{From: f.header.Format, Reordered: true}
	p, format, err := newPromoter(&f.header)
	if err != nil {
		return report, &FormatError{Path: f.path, What: err.Error(), Mend: "convert it to .laz"}
	}
	report.To = format
	h, err := f.octreeHeader(format, o, &report)
	if err != nil {
		return report, fmt.Errorf("las: convert %s: %w", f.path, err)
	}
	partial := out + ".partial"
	file, err := os.OpenFile(partial, os.O_RDWR|os.O_CREATE|os.O_TRUNC, 0o666)
	if err != nil {
		return report, fmt.Errorf("las: convert: %w", err)
	}
	err = f.Workers(o.Workers).fill(ctx, file, h, p, &report)
	if closed := file.Close(); err == nil {
		err = closed
	}
	if err == nil {
		err = os.Rename(partial, out)
	}
	if err != nil {
		_ = os.Remove(partial)
		return report, fmt.Errorf("las: convert to %s: %w", out, err)
	}
	return report, nil
}

// fill writes the points into the file.
func (f *File) fill(ctx context.Context, file *os.File, h copc.Header, p *promoter, report *ConvertReport) error {
	options := copc.DefaultWriterOptions()
	options.Workers = f.workers
	w, err := copc.NewWriter(file, h, options)
	if err != nil {
		return err
	}
	defer w.Abort()
	for records, err := range f.Records(ctx) {
		if err != nil {
			return err
		}
		if err := w.Write(p.promote(records)); err != nil {
			return err
		}
	}
	stats, err := w.Close(ctx)
	if err != nil {
		return err
	}
	report.Points = stats.Points
	report.note("points are in the order of an octree of %d nodes in %d levels", stats.Nodes, stats.Levels)
	p.notes(report)
	return nil
}

// octreeHeader returns what the file's header says that the COPC file is to
// say too, with the CRS as text.
func (f *File) octreeHeader(format uint8, o ConvertOptions, report *ConvertReport) (copc.Header, error) {
	h := f.copiedHeader(report)
	if format != f.header.Format {
		report.note("point format %d became %d", f.header.Format, format)
		if f.header.Format == 0 || f.header.Format == 2 {
			report.note("there was no GPS time: it is 0 for all points")
		}
	}
	if n := len(h.pastHeader) + len(h.pastVLRs); n > 0 && h.Version > 0 {
		report.note("%d bytes of padding behind the header and its records were dropped", n)
	}
	if h.definition() == "" {
		if err := h.defineCRS(o, report); err != nil {
			return copc.Header{}, err
		}
	}
	layout, _ := LayoutOf(format)
	c := copc.Header{
		Format: int(format), RecordLength: layout.Length + h.ExtraBytes, Scale: h.Scale, Offset: h.Offset,
		SourceID: h.FileSourceID, Encoding: uint16(h.Encoding | WKT), GUID: h.GUID, System: h.SystemID, Software: h.Software,
		Day: binary.LittleEndian.Uint16(h.original[offDay:]), Year: binary.LittleEndian.Uint16(h.original[offYear:]),
	}
	for _, v := range h.VLRs {
		c.VLRs = append(c.VLRs, copc.Record{UserID: v.UserID, ID: v.RecordID, Description: v.Description, Data: v.Data})
	}
	for _, v := range h.EVLRs {
		if !v.loaded() {
			return c, fmt.Errorf("record %s %d has %d bytes, too many to go into a COPC file", v.UserID, v.RecordID, v.Len())
		}
		c.EVLRs = append(c.EVLRs, copc.Record{UserID: v.UserID, ID: v.RecordID, Description: v.Description, Data: v.Data})
	}
	return c, nil
}

// defineCRS puts well-known text in the place of GeoTIFF keys, which formats
// 6 to 10 must not have.
func (h *Header) defineCRS(o ConvertOptions, report *ConvertReport) error {
	if !h.CRS.Known() {
		before := len(h.VLRs) + len(h.EVLRs)
		h.VLRs, h.EVLRs = withoutCRS(h.VLRs), withoutCRS(h.EVLRs)
		if len(h.VLRs)+len(h.EVLRs) < before {
			report.note("the GeoTIFF keys name no CRS that is known: they were dropped")
		}
		return nil
	}
	if h.CRS.WKT == "" && o.Define != nil {
		c, err := o.Define(h.CRS)
		if err != nil {
			return err
		}
		h.CRS = c
	}
	v, err := h.textRecord()
	if err != nil {
		return err
	}
	h.VLRs, h.EVLRs = append(v, withoutCRS(h.VLRs)...), withoutCRS(h.EVLRs)
	report.note("the CRS (%s) is now given as well-known text in place of GeoTIFF keys", h.CRS)
	return nil
}

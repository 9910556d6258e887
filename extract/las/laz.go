package las

import (
	"context"
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"quoin/extract/las/laz"
)

// unpack looks for the record that tells how points are compressed, takes it
// out of the header's records, and returns it; nil for a plain file.
func (p *parser) unpack() (*laz.Record, error) {
	h := &p.header
	at := -1
	for i := range h.VLRs {
		if h.VLRs[i].Is(laz.UserID, laz.RecordID) {
			at = i
		}
	}
	if at < 0 {
		if p.packed {
			return nil, p.bad(mendRewrite, "the points are marked as compressed, and no record tells how")
		}
		return nil, nil
	}
	rec, err := laz.ParseRecord(h.VLRs[at].Data)
	if !p.packed && (err != nil || p.checkCount() == nil) {
		p.warn("a record of compression stands beside plain points: left aside")
		return nil, nil
	}
	if err != nil {
		return nil, p.bad(mendRewrite, "%v", err)
	}
	if rec.Format() != int(h.Format) || rec.RecordLength() != h.RecordLength() {
		return nil, p.bad(mendRewrite, "points are compressed as format %d in %d bytes, the header says format %d in %d",
			rec.Format(), rec.RecordLength(), h.Format, h.RecordLength())
	}
	h.VLRs = append(h.VLRs[:at:at], h.VLRs[at+1:]...)
	if rec.Compressor == laz.Stored {
		return nil, nil
	}
	return &rec, nil
}

// checkChunks refuses a compressed file of which no point can be read, and
// warns of one whose chunks must be looked for.
func (p *parser) checkChunks(rec *laz.Record) error {
	r, err := laz.NewReader(p.r, p.size, p.points, p.header.Count, *rec, laz.ReaderOptions{Workers: 1})
	if err != nil {
		return p.bad(mendCopy, "%v", err)
	}
	if damage := r.Damage(); damage != nil {
		p.warn("%v: points are looked for without it", damage)
	}
	return nil
}

// layers returns the layers of formats 6 to 10 that hold the columns asked
// for. Raw records are asked for with all of them.
func (c Columns) layers() laz.Layers {
	if c == rawRecords {
		return laz.AllLayers
	}
	l := laz.LayerZ
	for _, pair := range []struct {
		column Columns
		layer  laz.Layers
	}{
		{Intensity, laz.LayerIntensity},
		{Time, laz.LayerTime},
		{Class, laz.LayerClassification},
		{Flags, laz.LayerFlags},
		{ScanAngle, laz.LayerScanAngle},
		{Source, laz.LayerPointSource},
		{Colour, laz.LayerRGB},
	} {
		if c&pair.column != 0 {
			l |= pair.layer
		}
	}
	return l
}

// unpacked streams the records of a compressed file with the layers of the
// columns asked for.
func (f *File) unpacked(ctx context.Context, r io.ReaderAt, c Columns, yield func([]byte, error) bool) {
	points, err := laz.NewReader(r, f.input.size, f.points, f.header.Count, *f.packed, laz.ReaderOptions{Workers: f.workers, Layers: c.layers()})
	if err != nil {
		yield(nil, fmt.Errorf("las: read %s: %w", f.path, err))
		return
	}
	for chunk, err := range points.All(ctx) {
		if err != nil {
			yield(nil, fmt.Errorf("las: read %s: %w", f.path, err))
			return
		}
		if !yield(chunk.Records, nil) {
			return
		}
	}
}

// isPacked reports whether a name asks for compressed points.
func isPacked(path string) bool { return strings.EqualFold(filepath.Ext(path), ".laz") }

// packedRecord returns the record that tells how points are compressed: in
// the customary way of their format.
func packedRecord(h *Header) (VLR, error) {
	rec, err := laz.NewRecord(int(h.Format), h.RecordLength())
	if err != nil {
		return VLR{}, err
	}
	return VLR{UserID: laz.UserID, RecordID: laz.RecordID, Description: "how points are compressed", Data: rec.Marshal()}, nil
}

// pack makes the file's points compressed ones.
func (w *Writer) pack() error {
	rec, err := laz.NewRecord(int(w.header.Format), w.header.RecordLength())
	if err != nil {
		return err
	}
	if err := w.out.Flush(); err != nil {
		return err
	}
	points, err := laz.NewWriter(w.file, w.out.at, rec, laz.WriterOptions{Workers: w.workers})
	if err != nil {
		return err
	}
	w.points = points
	return nil
}

// move goes on at another place in the file.
func (o *output) move(file io.Seeker, to int64) error {
	if err := o.Flush(); err != nil {
		return err
	}
	_, err := file.Seek(to, io.SeekStart)
	o.at = to
	return err
}

package las

import (
	"context"
	"fmt"
	"io"

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

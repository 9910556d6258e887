package las_test

import (
	"bytes"
	"context"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"quoin/extract/cloud"
	"quoin/extract/las"
	"quoin/vector"
)

// drawBatch draws points that the format can hold, on the millimetre.
func drawBatch(t *rapid.T, format uint8) *cloud.Batch {
	layout, _ := las.LayoutOf(format)
	n := rapid.IntRange(0, 40).Draw(t, "n")
	b := &cloud.Batch{}
	most, classes, channels := uint8(7), uint8(31), uint8(0)
	if layout.Extended {
		most, classes, channels = 15, 255, 3
	}
	coordinate := func(offset float64) float64 {
		return float64(float64(rapid.Int32().Draw(t, "step"))*0.001) + offset
	}
	for range n {
		b.X, b.Y, b.Z = append(b.X, coordinate(500000)), append(b.Y, coordinate(5700000)), append(b.Z, coordinate(100))
		b.Intensity = append(b.Intensity, rapid.Uint16().Draw(t, "intensity"))
		b.Return = append(b.Return, rapid.Uint8Range(0, most).Draw(t, "return"))
		b.Returns = append(b.Returns, rapid.Uint8Range(0, most).Draw(t, "returns"))
		class := rapid.Uint8Range(0, classes).Draw(t, "class")
		flags := cloud.Flag(rapid.Uint8Range(0, 63).Draw(t, "flags"))
		angle := float32(rapid.IntRange(-90, 90).Draw(t, "rank"))
		if layout.Extended {
			angle = float32(float64(rapid.Int16Range(-30000, 30000).Draw(t, "angle")) * 0.006)
		} else if flags &^= cloud.Overlap; class == 12 {
			flags |= cloud.Overlap
		}
		b.Class, b.Flags, b.ScanAngle = append(b.Class, class), append(b.Flags, flags), append(b.ScanAngle, angle)
		b.Source = append(b.Source, rapid.Uint16().Draw(t, "source"))
		b.Channel = append(b.Channel, rapid.Uint8Range(0, channels).Draw(t, "channel"))
		if layout.Time >= 0 {
			b.Time = append(b.Time, rapid.Float64().Draw(t, "time"))
		}
		if layout.Colour >= 0 {
			b.Red, b.Green, b.Blue = append(b.Red, rapid.Uint16().Draw(t, "r")), append(b.Green, rapid.Uint16().Draw(t, "g")), append(b.Blue, rapid.Uint16().Draw(t, "b"))
		}
	}
	return b
}

// appendBatch copies a batch behind another.
func appendBatch(to, b *cloud.Batch) {
	to.X, to.Y, to.Z = append(to.X, b.X...), append(to.Y, b.Y...), append(to.Z, b.Z...)
	to.Time, to.Intensity = append(to.Time, b.Time...), append(to.Intensity, b.Intensity...)
	to.Return, to.Returns = append(to.Return, b.Return...), append(to.Returns, b.Returns...)
	to.Class, to.Flags, to.ScanAngle = append(to.Class, b.Class...), append(to.Flags, b.Flags...), append(to.ScanAngle, b.ScanAngle...)
	to.Source, to.Channel = append(to.Source, b.Source...), append(to.Channel, b.Channel...)
	to.Red, to.Green, to.Blue = append(to.Red, b.Red...), append(to.Green, b.Green...), append(to.Blue, b.Blue...)
}

func readAll(t interface{ Fatal(...any) }, f *las.File) *cloud.Batch {
	all := &cloud.Batch{}
	for b, err := range f.Batches(context.Background()) {
		if err != nil {
			t.Fatal(err)
		}
		appendBatch(all, b)
	}
	return all
}

func TestWhatIsWrittenIsReadBack(t *testing.T) {
	dir := t.TempDir()
	for format := uint8(0); format <= las.MaxFormat; format++ {
		for version := uint8(2); version <= 4; version++ {
			if version == 2 && format > 3 || version == 3 && format > 5 {
				continue
			}
			rapid.Check(t, func(t *rapid.T) { writeAndRead(t, filepath.Join(dir, "a.las"), version, format) })
		}
	}
}

func writeAndRead(t *rapid.T, path string, version, format uint8) {
	h := millimetres(version, format)
	h.ExtraBytes = rapid.IntRange(0, 9).Draw(t, "extra bytes")
	data := rapid.SliceOfN(rapid.Byte(), 0, 100).Draw(t, "record")
	h.VLRs = []las.VLR{{UserID: "somebody", RecordID: 7, Description: "a record", Data: data}}
	w, err := las.Create(path, h)
	if err != nil {
		t.Fatal(err)
	}
	want := drawBatch(t, format)
	if err := w.Write(want); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	f, err := las.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(want, readAll(t, f), cmpopts.EquateEmpty(), cmpopts.EquateNaNs()); d != "" {
		t.Fatal(d)
	}
	got := f.Header()
	if got.Count != uint64(want.Len()) || got.ExtraBytes != h.ExtraBytes || len(f.Warnings()) > 0 {
		t.Fatalf("%d points, %d extra bytes, warnings %q", got.Count, got.ExtraBytes, f.Warnings())
	}
	if len(got.VLRs) != 1 || got.VLRs[0].Description != "a record" || !bytes.Equal(got.VLRs[0].Data, data) {
		t.Fatalf("records %v", got.VLRs)
	}
	for axis, column := range [][]float64{want.X, want.Y, want.Z} {
		least, most := math.Inf(1), math.Inf(-1)
		for _, v := range column {
			least, most = min(least, v), max(most, v)
		}
		if len(column) > 0 && (got.Min[axis] != least || got.Max[axis] != most) {
			t.Fatalf("axis %d: box %g to %g, want %g to %g", axis, got.Min[axis], got.Max[axis], least, most)
		}
	}
}

func TestRecordsAreWrittenAsTheyAre(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.las")
	h := millimetres(4, 10)
	h.ExtraBytes = 3
	w, err := las.Create(path, h)
	if err != nil {
		t.Fatal(err)
	}
	raw := make([]byte, 70*100)
	for i := range raw {
		raw[i] = byte(i * 7)
	}
	if err := w.WriteRecords(raw[:69]); err == nil {
		t.Error("part of a record was taken")
	}
	if err := w.WriteRecords(raw); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	f, err := las.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	var got []byte
	for run, err := range f.Records(context.Background()) {
		if err != nil {
			t.Fatal(err)
		}
		got = append(got, run...)
	}
	if !bytes.Equal(got, raw) {
		t.Error("records came back changed")
	}
}

func TestCreateRefuses(t *testing.T) {
	code := vector.CRS{Authority: "EPSG", Code: 25832}
	for name, change := range map[string]func(*las.Header){
		"LAS 1.1":                 func(h *las.Header) { h.Version = 1 },
		"LAS 1.5":                 func(h *las.Header) { h.Version = 5 },
		"format 11":               func(h *las.Header) { h.Format = 11 },
		"format 6 in LAS 1.2":     func(h *las.Header) { h.Version, h.Format = 2, 6 },
		"zero scale":              func(h *las.Header) { h.Scale[1] = 0 },
		"NaN scale":               func(h *las.Header) { h.Scale[2] = math.NaN() },
		"infinite offset":         func(h *las.Header) { h.Offset[0] = math.Inf(1) },
		"negative extra bytes":    func(h *las.Header) { h.ExtraBytes = -1 },
		"record too long":         func(h *las.Header) { h.ExtraBytes = 65530 },
		"VLR too long":            func(h *las.Header) { h.VLRs = []las.VLR{{Data: make([]byte, 65536)}} },
		"EVLR in LAS 1.2":         func(h *las.Header) { h.Version, h.Format, h.EVLRs = 2, 1, []las.VLR{{}} },
		"code only in format 6":   func(h *las.Header) { h.CRS = code },
		"text only in LAS 1.2":    func(h *las.Header) { h.Version, h.Format, h.CRS = 2, 1, vector.CRS{WKT: "LOCAL_CS[]"} },
		"definition far too long": func(h *las.Header) { h.CRS = vector.CRS{WKT: strings.Repeat("a", 1<<16)} },
	} {
		h := millimetres(4, 6)
		change(&h)
		path := filepath.Join(t.TempDir(), "a.las")
		if _, err := las.Create(path, h); err == nil {
			t.Errorf("%s: no error", name)
		}
		if left, _ := os.ReadDir(filepath.Dir(path)); len(left) > 0 {
			t.Errorf("%s: %v was left", name, left)
		}
	}
}

func TestWriteRefusesWhatTheFormatCannotHold(t *testing.T) {
	for name, tt := range map[string]struct {
		format uint8
		change func(*cloud.Batch)
	}{
		"coordinate beyond 32 bits": {6, func(b *cloud.Batch) { b.X[0] = 1e7 }},
		"NaN":                       {6, func(b *cloud.Batch) { b.Z[0] = math.NaN() }},
		"return 16":                 {6, func(b *cloud.Batch) { b.Return[0] = 16 }},
		"return 8 in format 1":      {1, func(b *cloud.Batch) { b.Returns[0] = 8 }},
		"class 32 in format 1":      {1, func(b *cloud.Batch) { b.Class = []uint8{32} }},
		"channel in format 1":       {1, func(b *cloud.Batch) { b.Channel = []uint8{1} }},
		"channel 4":                 {6, func(b *cloud.Batch) { b.Channel = []uint8{4} }},
		"overlap in format 1":       {1, func(b *cloud.Batch) { b.Flags = []cloud.Flag{cloud.Overlap} }},
		"angle 91 in format 1":      {1, func(b *cloud.Batch) { b.ScanAngle = []float32{91} }},
		"angle 181":                 {6, func(b *cloud.Batch) { b.ScanAngle = []float32{181} }},
		"short column":              {6, func(b *cloud.Batch) { b.Y = nil }},
		"long column":               {6, func(b *cloud.Batch) { b.Intensity = make([]uint16, 2) }},
	} {
		w, err := las.Create(filepath.Join(t.TempDir(), "a.las"), millimetres(4, tt.format))
		if err != nil {
			t.Fatal(err)
		}
		b := onePoint()
		tt.change(b)
		if err := w.Write(b); err == nil {
			t.Errorf("%s: no error", name)
		}
		if err := w.Write(onePoint()); err != nil {
			t.Errorf("%s: the next batch: %v", name, err)
		}
		w.Abort()
	}
}

func TestAbortAndFailureLeaveNothing(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "a.las")
	w, err := las.Create(path, millimetres(4, 6))
	if err != nil {
		t.Fatal(err)
	}
	w.Abort()
	w.Abort()
	if err := w.Close(); err != nil {
		t.Errorf("close after abort: %v", err)
	}
	if left, _ := os.ReadDir(dir); len(left) > 0 {
		t.Errorf("%v was left", left)
	}
	if _, err := las.Create(filepath.Join(dir, "none", "a.las"), millimetres(4, 6)); err == nil {
		t.Error("a file was made in a folder that is not there")
	}
}

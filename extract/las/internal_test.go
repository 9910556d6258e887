package las

import (
	"bytes"
	"encoding/binary"
	"errors"
	"os"
	"path/filepath"
	"syscall"
	"testing"
)

// Point records of formats 1 and 3 as formats 6 and 7, field by field: ASPRS
// LAS 1.4 R15, 2.6.2, 2.6.4, 2.6.7 and 2.6.8.
func TestPromoteKeepsEveryField(t *testing.T) {
	old := []byte{
		1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, // x, y, z
		0x34, 0x12, // intensity
		2 | 5<<3 | 1<<6 | 1<<7, // return 2 of 5, scan direction, edge
		6 | 1<<5 | 1<<7,        // class 6, synthetic, withheld
		0xF4, 99, 0x78, 0x56,   // rank -12, user data, source
		21, 22, 23, 24, 25, 26, 27, 28, // time
		31, 32, 33, 34, 35, 36, // colour
		77, 78, // extra bytes
	}
	want := []byte{
		1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12,
		0x34, 0x12,
		2 | 5<<4,
		1 | 4 | 1<<6 | 1<<7,
		6, 99,
		0x30, 0xF8, // -2000 steps of 0.006 degrees
		0x78, 0x56,
		21, 22, 23, 24, 25, 26, 27, 28,
		31, 32, 33, 34, 35, 36,
		77, 78,
	}
	p, format, err := newPromoter(&Header{Format: 3, ExtraBytes: 2})
	if err != nil || format != 7 {
		t.Fatal(format, err)
	}
	if got := p.promote(append(bytes.Clone(old), old...)); !bytes.Equal(got, append(bytes.Clone(want), want...)) {
		t.Errorf("got  % x\nwant % x", got[:38], want)
	}
	p, format, err = newPromoter(&Header{Format: 1, ExtraBytes: 2})
	if err != nil || format != 6 {
		t.Fatal(format, err)
	}
	got := p.promote(append(bytes.Clone(old[:28]), old[34:]...))
	if !bytes.Equal(got, append(bytes.Clone(want[:30]), want[36:]...)) {
		t.Errorf("format 1: % x", got)
	}
}

func TestPromoteTurnsOldClassesIntoFlags(t *testing.T) {
	p, _, err := newPromoter(&Header{Format: 0})
	if err != nil {
		t.Fatal(err)
	}
	records := make([]byte, 40)
	records[15], records[20+15] = 12, 8
	got := p.promote(records)
	if got[15] != 8 || got[16] != 1 || got[30+15] != 2 || got[30+16] != 8 {
		t.Errorf("got % x", got)
	}
	var report ConvertReport
	if p.notes(&report); len(report.Notes) != 2 {
		t.Errorf("notes are %q", report.Notes)
	}
}

func TestPromoteRefusesWaves(t *testing.T) {
	for _, format := range []uint8{4, 5, 9, 10} {
		if _, _, err := newPromoter(&Header{Format: format}); err == nil {
			t.Errorf("format %d: no error", format)
		}
	}
}

// withWaves is a file whose waveform packets are inside, of a given size.
func withWaves(t *testing.T, version uint8, size int) []byte {
	t.Helper()
	h := Header{Version: version, Format: 4, Scale: [3]float64{1, 1, 1}, Encoding: InternalWaves}
	waves := VLR{UserID: "LASF_Spec", RecordID: 65535, Data: bytes.Repeat([]byte{7, 8, 9, 10}, size/4)}
	h.EVLRs = []VLR{waves}
	path := filepath.Join(t.TempDir(), "waves.las")
	w, err := createCopy(path, h, bytes.NewReader(nil), 1)
	if err != nil {
		t.Fatal(err)
	}
	if err := w.WriteRecords(make([]byte, 57*3)); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// Waveform packets are an extended record in LAS 1.4 and stand alike at the
// position the header gives in LAS 1.3; above 16 MiB they are not loaded but
// copied through.
func TestWaveformPacketsAreCopied(t *testing.T) {
	for _, version := range []uint8{3, 4} {
		for _, size := range []int{400, evlrLoaded + 4} {
			b := withWaves(t, version, size)
			at := binary.LittleEndian.Uint64(b[offWaves:])
			if want := uint64(headerSizeOf(version) + 3*57); at != want {
				t.Fatalf("LAS 1.%d: packets start at %d, want %d", version, at, want)
			}
			dir := t.TempDir()
			in, out := filepath.Join(dir, "a.las"), filepath.Join(dir, "b.las")
			if err := os.WriteFile(in, b, 0o600); err != nil {
				t.Fatal(err)
			}
			f, err := Open(in)
			if err != nil {
				t.Fatal(err)
			}
			v := f.header.EVLRs[0]
			if v.Len() != int64(size) || v.loaded() != (size == 400) {
				t.Errorf("LAS 1.%d: %d bytes, loaded %v", version, v.Len(), v.loaded())
			}
			if _, err := f.copyTo(t.Context(), out); err != nil {
				t.Fatal(err)
			}
			if copied, err := os.ReadFile(out); err != nil || !bytes.Equal(copied, b) {
				t.Errorf("LAS 1.%d with %d bytes of packets: the copy differs, %v", version, size, err)
			}
			if _, err := Create(filepath.Join(dir, "c.las"), f.Header()); size > 400 && version == 4 && err == nil {
				t.Error("a record that was not loaded was taken")
			}
		}
	}
}

// fullDisk takes some bytes and then no more.
type fullDisk struct{ left int }

func (d *fullDisk) Write(b []byte) error {
	if len(b) > d.left {
		return syscall.ENOSPC
	}
	d.left -= len(b)
	return nil
}

func (d *fullDisk) Close() (int64, error) { return 0, nil }

func (d *fullDisk) Abort() {}

func TestWriterOnAFullDiskLeavesNothing(t *testing.T) {
	dir := t.TempDir()
	w, err := Create(filepath.Join(dir, "a.las"), Header{Version: 4, Format: 6, Scale: [3]float64{1, 1, 1}})
	if err != nil {
		t.Fatal(err)
	}
	w.points = &fullDisk{100}
	if err := w.WriteRecords(make([]byte, 90)); err != nil {
		t.Fatal(err)
	}
	for range 2 {
		if err := w.WriteRecords(make([]byte, 90)); !errors.Is(err, syscall.ENOSPC) {
			t.Errorf("error is %v", err)
		}
	}
	if err := w.Close(); !errors.Is(err, syscall.ENOSPC) {
		t.Errorf("closing says %v", err)
	}
	if left, _ := os.ReadDir(dir); len(left) > 0 {
		t.Errorf("%v was left", left)
	}
}

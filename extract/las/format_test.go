package las_test

import (
	"encoding/binary"
	"math"
	"os"
	"path/filepath"
	"testing"
	"time"

	"quoin/extract/cloud"
	"quoin/extract/las"
)

// Lengths and offsets printed in the ASPRS LAS Specification 1.4 R15, tables
// 7 to 17; a dash there is -1 here.
func TestLayoutsAreThoseOfTheSpecification(t *testing.T) {
	for _, tt := range []struct {
		format                                        uint8
		length, source, time, colour, infrared, waves int
	}{
		{0, 20, 18, -1, -1, -1, -1},
		{1, 28, 18, 20, -1, -1, -1},
		{2, 26, 18, -1, 20, -1, -1},
		{3, 34, 18, 20, 28, -1, -1},
		{4, 57, 18, 20, -1, -1, 28},
		{5, 63, 18, 20, 28, -1, 34},
		{6, 30, 20, 22, -1, -1, -1},
		{7, 36, 20, 22, 30, -1, -1},
		{8, 38, 20, 22, 30, 36, -1},
		{9, 59, 20, 22, -1, -1, 30},
		{10, 67, 20, 22, 30, 36, 38},
	} {
		got, ok := las.LayoutOf(tt.format)
		want := las.Layout{Length: tt.length, Extended: tt.format > 5, Source: tt.source, Time: tt.time, Colour: tt.colour, NIR: tt.infrared, Wave: tt.waves}
		if !ok || got != want {
			t.Errorf("format %d: got %+v, want %+v", tt.format, got, want)
		}
	}
	if _, ok := las.LayoutOf(11); ok {
		t.Error("point format 11 has a layout")
	}
}

// create writes a file with one batch and returns its path.
func create(t testing.TB, h las.Header, batch *cloud.Batch) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "a.las")
	w, err := las.Create(path, h)
	if err != nil {
		t.Fatal(err)
	}
	if err := w.Write(batch); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return path
}

func fileBytes(t testing.TB, path string) []byte {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// millimetres is a header with scale 0.001.
func millimetres(version, format uint8) las.Header {
	return las.Header{Version: version, Format: format, Scale: [3]float64{0.001, 0.001, 0.001}, Offset: [3]float64{500000, 5700000, 100}}
}

// Offsets printed in the ASPRS LAS Specification 1.4 R15, table 3.
func TestHeaderFieldsStandWhereTheSpecificationSays(t *testing.T) {
	h := millimetres(4, 1)
	h.FileSourceID, h.SystemID, h.Software = 77, "invented scanner", "test"
	h.GUID = [16]byte{1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 16}
	h.Created = time.Date(2024, 12, 31, 0, 0, 0, 0, time.UTC)
	h.Encoding = las.AdjustedTime
	b := fileBytes(t, create(t, h, &cloud.Batch{
		X: []float64{500001, 500002, 499990}, Y: []float64{5700003, 5700004, 5700005}, Z: []float64{6, 7, 8},
		Return: []uint8{1, 2, 2}, Returns: []uint8{2, 2, 2},
	}))
	le := binary.LittleEndian
	float := func(at int) float64 { return math.Float64frombits(le.Uint64(b[at:])) }
	for _, tt := range []struct {
		name      string
		got, want any
	}{
		{"signature at 0", string(b[:4]), "LASF"},
		{"file source id at 4", le.Uint16(b[4:]), uint16(77)},
		{"global encoding at 6", le.Uint16(b[6:]), uint16(1)},
		{"GUID at 8", [16]byte(b[8:24]), h.GUID},
		{"version at 24", [2]byte(b[24:26]), [2]byte{1, 4}},
		{"system id at 26", string(b[26:43]), "invented scanner\x00"},
		{"software at 58", string(b[58:63]), "test\x00"},
		{"day at 90", le.Uint16(b[90:]), uint16(366)},
		{"year at 92", le.Uint16(b[92:]), uint16(2024)},
		{"header size at 94", le.Uint16(b[94:]), uint16(375)},
		{"offset to points at 96", le.Uint32(b[96:]), uint32(375)},
		{"VLRs at 100", le.Uint32(b[100:]), uint32(0)},
		{"format at 104", b[104], uint8(1)},
		{"record length at 105", le.Uint16(b[105:]), uint16(28)},
		{"legacy count at 107", le.Uint32(b[107:]), uint32(3)},
		{"legacy first returns at 111", le.Uint32(b[111:]), uint32(1)},
		{"legacy second returns at 115", le.Uint32(b[115:]), uint32(2)},
		{"x scale at 131", float(131), 0.001},
		{"y offset at 163", float(163), 5700000.0},
		{"max x at 179", float(179), 500002.0},
		{"min x at 187", float(187), 499990.0},
		{"max y at 195", float(195), 5700005.0},
		{"min y at 203", float(203), 5700003.0},
		{"max z at 211", float(211), 8.0},
		{"min z at 219", float(219), 6.0},
		{"count at 247", le.Uint64(b[247:]), uint64(3)},
		{"second returns at 263", le.Uint64(b[263:]), uint64(2)},
		{"length", len(b), 375 + 3*28},
	} {
		if tt.got != tt.want {
			t.Errorf("%s: got %v, want %v", tt.name, tt.got, tt.want)
		}
	}
}

// Header sizes: ASPRS LAS 1.2, 1.3 and 1.4 R15. Formats 6 to 10 must have
// legacy counts of zero and the WKT bit set (1.4 R15, 2.4).
func TestHeadersOfEachVersion(t *testing.T) {
	for _, tt := range []struct {
		version, format uint8
		size            int
	}{{2, 3, 227}, {3, 5, 235}, {4, 0, 375}, {4, 6, 375}, {4, 10, 375}} {
		b := fileBytes(t, create(t, millimetres(tt.version, tt.format), onePoint()))
		if got := int(binary.LittleEndian.Uint16(b[94:])); got != tt.size {
			t.Errorf("1.%d: header of %d bytes, want %d", tt.version, got, tt.size)
		}
		extended := tt.format >= 6
		if wkt := b[6]&16 != 0; wkt != extended {
			t.Errorf("1.%d format %d: WKT bit is %v", tt.version, tt.format, wkt)
		}
		if old := binary.LittleEndian.Uint32(b[107:]); (old == 0) != extended {
			t.Errorf("1.%d format %d: legacy count is %d", tt.version, tt.format, old)
		}
	}
}

func onePoint() *cloud.Batch {
	return &cloud.Batch{X: []float64{500001}, Y: []float64{5700002}, Z: []float64{103}, Return: []uint8{1}, Returns: []uint8{1}}
}

// Point record of formats 0 and 6, bit by bit: ASPRS LAS 1.4 R15, 2.6.1 and
// 2.6.7.
func TestRecordBits(t *testing.T) {
	batch := onePoint()
	batch.Intensity, batch.Source = []uint16{0x1234}, []uint16{0x5678}
	batch.Return, batch.Returns, batch.Class = []uint8{2}, []uint8{5}, []uint8{6}
	batch.ScanAngle = []float32{-12}
	batch.Flags = []cloud.Flag{cloud.Synthetic | cloud.Withheld | cloud.EdgeOfFlightLine}
	b := fileBytes(t, create(t, millimetres(4, 0), batch))[375:]
	want := []byte{0xE8, 3, 0, 0, 0xD0, 7, 0, 0, 0xB8, 0xB, 0, 0, 0x34, 0x12, 2 | 5<<3 | 1<<7, 6 | 1<<5 | 1<<7, 0xF4, 0, 0x78, 0x56}
	if string(b) != string(want) {
		t.Errorf("format 0: % x, want % x", b, want)
	}
	batch.Channel, batch.Class = []uint8{3}, []uint8{200}
	batch.Return, batch.Returns = []uint8{9}, []uint8{15}
	batch.Flags = []cloud.Flag{cloud.KeyPoint | cloud.Overlap | cloud.ScanDirection}
	batch.ScanAngle = []float32{90} // 15000 steps of 0.006 degrees
	b = fileBytes(t, create(t, millimetres(4, 6), batch))[375:]
	want = []byte{0xE8, 3, 0, 0, 0xD0, 7, 0, 0, 0xB8, 0xB, 0, 0, 0x34, 0x12, 9 | 15<<4, 2 | 8 | 3<<4 | 1<<6, 200, 0, 0x98, 0x3A, 0x78, 0x56, 0, 0, 0, 0, 0, 0, 0, 0}
	if string(b) != string(want) {
		t.Errorf("format 6: % x, want % x", b, want)
	}
}

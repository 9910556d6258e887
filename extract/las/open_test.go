package las_test

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"math"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"quoin/extract/cloud"
	"quoin/extract/las"
	"quoin/vector"
)

// sound is a LAS 1.4 file of ten points with a VLR and an EVLR.
func sound(t testing.TB, format uint8) []byte {
	t.Helper()
	h := millimetres(4, format)
	h.VLRs = []las.VLR{{UserID: "somebody", RecordID: 1, Data: []byte("data")}}
	h.EVLRs = []las.VLR{{UserID: "somebody", RecordID: 2, Data: []byte("extended")}}
	b := &cloud.Batch{X: make([]float64, 10), Y: make([]float64, 10), Z: make([]float64, 10), Return: make([]uint8, 10)}
	for i := range 10 {
		b.X[i], b.Y[i], b.Z[i], b.Return[i] = 500000+float64(i), 5700000, 100, 1
	}
	return fileBytes(t, create(t, h, b))
}

func openBytes(b []byte) (*las.File, error) {
	return las.NewFile("a.las", bytes.NewReader(b), int64(len(b)))
}

func putFloat(b []byte, v float64) { binary.LittleEndian.PutUint64(b, math.Float64bits(v)) }

func TestOpenRefusesWhatCannotBeRight(t *testing.T) {
	le := binary.LittleEndian
	for _, tt := range []struct {
		name   string
		spoil  func(b []byte) []byte
		says   string
		format uint8
	}{
		{"empty", func([]byte) []byte { return nil }, "empty", 6},
		{"one byte", func(b []byte) []byte { return b[:1] }, "shorter than any LAS header", 6},
		{"half a header", func(b []byte) []byte { return b[:300] }, "the header needs 375 bytes, the file has 300", 6},
		{"signature", func(b []byte) []byte { b[0] = 'X'; return b }, "no LAS file", 6},
		{"version 2.0", func(b []byte) []byte { b[24] = 2; return b }, "LAS 2.4", 6},
		{"version 1.6", func(b []byte) []byte { b[25] = 6; return b }, "LAS 1.6", 6},
		{"header too short", func(b []byte) []byte { le.PutUint16(b[94:], 227); return b }, "needs 375", 6},
		{"header beyond the file", func(b []byte) []byte { le.PutUint16(b[94:], 65535); return b }, "65535", 6},
		{"format", func(b []byte) []byte { b[104] = 11; return b }, "point format 11", 6},
		{"record length", func(b []byte) []byte { le.PutUint16(b[105:], 29); return b }, "records of 29 bytes are too short", 6},
		{"zero record length", func(b []byte) []byte { le.PutUint16(b[105:], 0); return b }, "too short", 6},
		{"zero scale", func(b []byte) []byte { putFloat(b[131:], 0); return b }, "x scale is 0", 6},
		{"NaN scale", func(b []byte) []byte { putFloat(b[139:], math.NaN()); return b }, "y scale is NaN", 6},
		{"infinite scale", func(b []byte) []byte { putFloat(b[147:], math.Inf(1)); return b }, "z scale is +Inf", 6},
		{"negative scale", func(b []byte) []byte { putFloat(b[131:], -1); return b }, "x scale is -1", 6},
		{"NaN offset", func(b []byte) []byte { putFloat(b[155:], math.NaN()); return b }, "x offset is NaN", 6},
		{"points in the header", func(b []byte) []byte { le.PutUint32(b[96:], 100); return b }, "inside the header", 6},
		{"points beyond the file", func(b []byte) []byte { le.PutUint32(b[96:], 1<<31); return b }, "beyond the end of the file", 6},
		{"more points than fit", func(b []byte) []byte { le.PutUint64(b[247:], 1000); return b }, "says 1000 points, the file has room for", 6},
		{"a number of points that overflows", func(b []byte) []byte { le.PutUint64(b[247:], math.MaxUint64); return b }, "room for", 6},
		{"legacy count alone lies", func(b []byte) []byte { le.PutUint32(b[107:], 4e9); return b }, "says 4000000000 points", 1},
		{"many VLRs", func(b []byte) []byte { le.PutUint32(b[100:], math.MaxUint32); return b }, "4294967295 variable length records, there is room for 1", 6},
		{"long VLR", func(b []byte) []byte { le.PutUint16(b[375+20:], 65535); return b }, "variable length record 1", 6},
		{"many EVLRs", func(b []byte) []byte { le.PutUint32(b[243:], math.MaxUint32); return b }, "4294967295 extended records, the file has room for 1", 6},
		{"long EVLR", func(b []byte) []byte { le.PutUint64(b[len(b)-68+20:], math.MaxUint64); return b }, "extended record 1", 6},
		{"EVLRs beyond the file", func(b []byte) []byte { le.PutUint64(b[235:], math.MaxUint64); return b }, "outside the file", 6},
		{"EVLRs among points", func(b []byte) []byte { le.PutUint64(b[235:], 500); return b }, "", 6},
		{"cut off among points", func(b []byte) []byte { le.PutUint32(b[243:], 0); return b[:500] }, "room for 2", 6},
		{"compressed without the record", func(b []byte) []byte { b[104] |= 0x80; return b }, "", 6},
	} {
		t.Run(tt.name, func(t *testing.T) {
			f, err := openBytes(tt.spoil(sound(t, tt.format)))
			if err == nil {
				t.Fatalf("no error: %+v", f.Header())
			}
			var fault *las.FormatError
			if !errors.As(err, &fault) || fault.Path != "a.las" || fault.Mend == "" {
				t.Errorf("%v is no FormatError with path and mend", err)
			}
			if !strings.Contains(err.Error(), tt.says) || strings.Contains(err.Error(), "\n") {
				t.Errorf("error is %q, want it to say %q", err, tt.says)
			}
		})
	}
}

func TestOpenTellsWhatIsOdd(t *testing.T) {
	le := binary.LittleEndian
	for _, tt := range []struct {
		name   string
		format uint8
		spoil  func(b []byte)
		says   string
		count  uint64
	}{
		{"nothing", 6, func([]byte) {}, "", 10},
		{"box upside down", 6, func(b []byte) { putFloat(b[179:], -1e9) }, "box runs from", 10},
		{"box of NaN", 6, func(b []byte) { putFloat(b[211:], math.NaN()) }, "box runs from", 10},
		// LAS 1.4 R15, table 3: the legacy value is to be used and reported.
		{"legacy count differs", 1, func(b []byte) { le.PutUint32(b[107:], 9) }, "the legacy one is taken", 9},
		{"legacy count in format 6", 6, func(b []byte) { le.PutUint32(b[107:], 9) }, "must be 0", 10},
		{"only a legacy count", 1, func(b []byte) { le.PutUint64(b[247:], 0) }, "only the legacy count", 10},
		{"WKT bit unset", 6, func(b []byte) { b[6] = 0 }, "needs the WKT bit", 10},
		{"no points, but bytes", 6, func(b []byte) { le.PutUint64(b[247:], 0); le.PutUint32(b[243:], 0) }, "may have been interrupted", 0},
	} {
		t.Run(tt.name, func(t *testing.T) {
			b := sound(t, tt.format)
			tt.spoil(b)
			f, err := openBytes(b)
			if err != nil {
				t.Fatal(err)
			}
			if got := strings.Join(f.Warnings(), "; "); (got == "") != (tt.says == "") || !strings.Contains(got, tt.says) {
				t.Errorf("warnings are %q, want %q", got, tt.says)
			}
			if got := readAll(t, f).Len(); uint64(got) != tt.count || f.Info().Count != tt.count {
				t.Errorf("read %d of %d points, want %d", got, f.Info().Count, tt.count)
			}
		})
	}
}

// A file cut at any byte is refused or, cut behind the points with nothing
// announced there, read.
func TestOpenRefusesAFileCutAnywhere(t *testing.T) {
	b := sound(t, 7)
	for n := range b {
		if _, err := openBytes(b[:n]); err == nil {
			t.Errorf("the first %d of %d bytes were taken for a file", n, len(b))
		}
	}
}

func TestOpenDoesNotAllocateForLies(t *testing.T) {
	b := sound(t, 6)
	binary.LittleEndian.PutUint64(b[247:], math.MaxUint64/100)
	binary.LittleEndian.PutUint32(b[100:], math.MaxUint32)
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	_, err := openBytes(b)
	runtime.ReadMemStats(&after)
	if err == nil || after.TotalAlloc-before.TotalAlloc > 1<<20 {
		t.Errorf("%d bytes were allocated, error %v", after.TotalAlloc-before.TotalAlloc, err)
	}
}

func TestOpenOfWhatIsNoFile(t *testing.T) {
	dir := t.TempDir()
	if _, err := las.Open(filepath.Join(dir, "none.las")); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("a file that is not there: %v", err)
	}
	var fault *las.FormatError
	if _, err := las.Open(dir); !errors.As(err, &fault) {
		t.Errorf("a folder: %v", err)
	}
}

func TestReadingStopsWhenTheFileChanged(t *testing.T) {
	path := create(t, millimetres(4, 6), onePoint())
	f, err := las.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.Truncate(path, 400); err != nil {
		t.Fatal(err)
	}
	for _, err := range f.Batches(context.Background()) {
		if err == nil || !strings.Contains(err.Error(), "changed") {
			t.Errorf("error is %v", err)
		}
	}
}

func TestReadingStopsWhenCancelled(t *testing.T) {
	f, err := openBytes(sound(t, 6))
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	n := 0
	for _, err := range f.Batches(ctx) {
		if n++; !errors.Is(err, context.Canceled) {
			t.Errorf("error is %v", err)
		}
	}
	if n != 1 {
		t.Errorf("%d results after cancelling", n)
	}
}

func TestOnlyLeavesColumnsOut(t *testing.T) {
	f, err := openBytes(sound(t, 7))
	if err != nil {
		t.Fatal(err)
	}
	for b, err := range f.Only(las.Class | las.Time).Batches(context.Background()) {
		if err != nil {
			t.Fatal(err)
		}
		if b.Class == nil || b.Time == nil || b.Return == nil || b.Red != nil || b.Intensity != nil || b.Flags != nil || b.Source != nil || b.ScanAngle != nil {
			t.Errorf("columns are %+v", b)
		}
	}
	if b := readAll(t, f); b.Red == nil || b.Intensity == nil {
		t.Error("Only changed the file it was called on")
	}
}

// Overlap is class 12 in formats 0 to 5 and a flag in the others: ASPRS LAS
// 1.4 R15, table 9 and 2.6.7.
func TestClassTwelveIsOverlap(t *testing.T) {
	b := onePoint()
	b.Class, b.Flags = []uint8{12}, []cloud.Flag{cloud.Overlap}
	f, err := las.Open(create(t, millimetres(2, 1), b))
	if err != nil {
		t.Fatal(err)
	}
	if got := readAll(t, f); got.Class[0] != 12 || got.Flags[0] != cloud.Overlap {
		t.Errorf("class %d, flags %b", got.Class[0], got.Flags[0])
	}
}

func TestCRSIsReadBack(t *testing.T) {
	const wkt = `PROJCS["site grid",GEOGCS["g",DATUM["d",SPHEROID["s",6378137,298.25]],UNIT["degree",0.0174532925199433]],PROJECTION["Transverse_Mercator"],UNIT["foot",0.3048]]`
	utm := vector.CRS{
		Name: "zone 32", Kind: vector.ProjectedCRS, Authority: "EPSG", Code: 25832, VerticalCode: 7837,
		Horizontal: vector.Metre, Vertical: vector.Metre,
	}
	for _, tt := range []struct {
		name            string
		version, format uint8
		write, want     vector.CRS
	}{
		{"keys", 2, 3, utm, utm},
		{"keys in LAS 1.4", 4, 1, utm, utm},
		{"feet", 3, 1, vector.CRS{Authority: "EPSG", Code: 2229, Horizontal: vector.USSurveyFoot}, vector.CRS{Kind: vector.ProjectedCRS, Authority: "EPSG", Code: 2229, Horizontal: vector.USSurveyFoot}},
		{"degrees", 2, 1, vector.CRS{Kind: vector.GeographicCRS, Authority: "EPSG", Code: 4326}, vector.CRS{Kind: vector.GeographicCRS, Authority: "EPSG", Code: 4326}},
		{"text", 4, 7, vector.CRS{WKT: wkt}, vector.CRS{Name: "site grid", Kind: vector.ProjectedCRS, WKT: wkt, Horizontal: vector.Foot}},
		{"text where keys cannot say it", 4, 1, vector.CRS{WKT: wkt}, vector.CRS{Name: "site grid", Kind: vector.ProjectedCRS, WKT: wkt, Horizontal: vector.Foot}},
		{"none", 4, 6, vector.CRS{}, vector.CRS{}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			h := millimetres(tt.version, tt.format)
			h.CRS = tt.write
			h.VLRs = []las.VLR{{UserID: "LASF_Projection", RecordID: 2112, Data: []byte("old")}, {UserID: "kept"}}
			if !tt.write.Known() {
				h.VLRs = h.VLRs[1:]
			}
			f, err := las.Open(create(t, h, onePoint()))
			if err != nil {
				t.Fatal(err)
			}
			if got := f.Info().CRS; got != tt.want || len(f.Warnings()) > 0 {
				t.Errorf("got %+v, warnings %q, want %+v", got, f.Warnings(), tt.want)
			}
			records := f.Header().VLRs
			if records[len(records)-1].UserID != "kept" {
				t.Errorf("records are %v", records)
			}
		})
	}
}

func TestUnreadableCRSIsOnlyAWarning(t *testing.T) {
	for name, records := range map[string][]las.VLR{
		"text":         {{UserID: "LASF_Projection", RecordID: 2112, Data: []byte("PROJCS[")}},
		"keys":         {{UserID: "LASF_Projection", RecordID: 34735, Data: []byte{1}}},
		"own formulas": {{UserID: "LASF_Projection", RecordID: 34735, Data: []byte{1, 0, 1, 0, 0, 0, 2, 0, 0, 4, 0, 0, 1, 0, 1, 0, 0, 0x0C, 0, 0, 1, 0, 0xFF, 0x7F}}},
		"both":         {{UserID: "LASF_Projection", RecordID: 2112, Data: []byte(`LOCAL_CS["a"]`)}, {UserID: "LASF_Projection", RecordID: 34735, Data: []byte{1, 0, 1, 0, 0, 0, 0, 0}}},
	} {
		h := millimetres(4, 1)
		h.VLRs = records
		f, err := las.Open(create(t, h, onePoint()))
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if len(f.Warnings()) != 1 || f.Info().CRS.Known() {
			t.Errorf("%s: warnings %q, CRS %+v", name, f.Warnings(), f.Info().CRS)
		}
	}
}

func TestActualTellsWhatTheHeaderLiesAbout(t *testing.T) {
	b := sound(t, 6)
	f, err := openBytes(b)
	if err != nil {
		t.Fatal(err)
	}
	if _, differences, err := f.Actual(context.Background()); err != nil || len(differences) > 0 {
		t.Errorf("an honest header: %q, %v", differences, err)
	}
	putFloat(b[179:], 1e7)                    // max x
	binary.LittleEndian.PutUint64(b[255:], 3) // first returns
	putFloat(b[219:], 100+0.0004)             // min z, within a step
	if f, err = openBytes(b); err != nil {
		t.Fatal(err)
	}
	actual, differences, err := f.Actual(context.Background())
	if err != nil || len(differences) != 2 {
		t.Errorf("differences are %q, %v", differences, err)
	}
	if actual.Max[0] != 500009 || actual.Returns[0] != 10 || actual.Count != 10 {
		t.Errorf("actual is %+v", actual)
	}
}

func writeFile(t testing.TB, path string, b []byte) {
	t.Helper()
	if err := os.WriteFile(path, b, 0o644); err != nil {
		t.Fatal(err)
	}
}

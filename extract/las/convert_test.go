package las_test

import (
	"bytes"
	"context"
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"quoin/extract/las"
	"quoin/extract/las/copc"
	"quoin/vector"
)

// convert converts a file into a folder of the test and returns the new
// file's path.
func convert(t testing.TB, in, name string, workers int) (string, las.ConvertReport) {
	t.Helper()
	out := filepath.Join(t.TempDir(), name)
	report, err := las.Convert(context.Background(), in, out, las.ConvertOptions{Workers: workers})
	if err != nil {
		t.Fatal(err)
	}
	return out, report
}

func TestConvertToLASKeepsEveryByte(t *testing.T) {
	for format := range uint8(las.MaxFormat + 1) {
		path := filepath.Join(t.TempDir(), "a.las")
		b := sound(t, format)
		copy(b[26:58], "scanner\x00padding behind the end")
		copy(b[375+22:], "text\x00padding")
		writeFile(t, path, b)
		out, report := convert(t, path, "b.las", 1)
		if report.Points != 10 || report.From != format || report.To != format || len(report.Notes) > 0 {
			t.Errorf("report is %+v", report)
		}
		if !bytes.Equal(fileBytes(t, out), b) {
			t.Errorf("format %d: the copy differs", format)
		}
	}
}

// The plain files beside the vectors hold every point format, extra bytes and
// extended records; some have boxes that their points don't bear out.
func TestToLAZAndBackKeepsEveryByte(t *testing.T) {
	paths, err := filepath.Glob(filepath.Join(vectors, "pdrf*.las"))
	if err != nil || len(paths) == 0 {
		t.Fatalf("no vectors in %s: %v", vectors, err)
	}
	for _, path := range append(paths, rock(t)) {
		packed, report := convert(t, path, "a.laz", 2)
		if !open(t, packed).Compressed() {
			t.Errorf("%s: the result is not compressed", path)
		}
		one, _ := convert(t, path, "b.laz", 1)
		if !bytes.Equal(fileBytes(t, packed), fileBytes(t, one)) {
			t.Errorf("%s: two workers write other bytes than one", path)
		}
		if boxCorrected := len(report.Notes) > 0; boxCorrected {
			continue
		}
		back, _ := convert(t, packed, "c.las", 2)
		if !bytes.Equal(fileBytes(t, back), fileBytes(t, path)) {
			t.Errorf("%s came back changed", path)
		}
	}
}

// What the reference codec library wrote becomes the plain file it was made
// from, header included.
func TestLAZOfAnotherWriterBecomesItsLAS(t *testing.T) {
	for _, name := range []string{
		"pdrf00", "pdrf01", "pdrf02", "pdrf03", "pdrf04", "pdrf05", "pdrf06", "pdrf07", "pdrf08", "pdrf09", "pdrf10",
		"pdrf03-eb4", "pdrf06-evlr", "pdrf07-ch2", "pdrf06-empty",
	} {
		out, report := convert(t, filepath.Join(vectors, name+".laz"), "a.las", 2)
		if len(report.Notes) > 0 {
			t.Errorf("%s: %q", name, report.Notes)
		}
		if !bytes.Equal(fileBytes(t, out), fileBytes(t, filepath.Join(vectors, name+".las"))) {
			t.Errorf("%s differs", name)
		}
	}
}

func TestConvertDropsTheHierarchyOfCOPC(t *testing.T) {
	out, report := convert(t, filepath.Join(vectors, "copc-pdrf07.copc.laz"), "a.laz", 1)
	if len(report.Notes) != 1 || !strings.Contains(report.Notes[0], "hierarchy") {
		t.Errorf("notes are %q", report.Notes)
	}
	h := open(t, out).Header()
	for _, v := range append(h.VLRs, h.EVLRs...) {
		if v.UserID == "copc" {
			t.Errorf("record %s %d is still there", v.UserID, v.RecordID)
		}
	}
	if !bytes.Equal(allRecords(t, open(t, out)), allRecords(t, open(t, filepath.Join(vectors, "copc-pdrf07.las")))) {
		t.Error("the points differ")
	}
}

func TestConvertRefuses(t *testing.T) {
	dir := t.TempDir()
	good := filepath.Join(vectors, "pdrf06.laz")
	for name, tt := range map[string][2]string{
		"no input":       {filepath.Join(dir, "none.las"), filepath.Join(dir, "a.las")},
		"unknown ending": {good, filepath.Join(dir, "a.xyz")},
		"no folder":      {good, filepath.Join(dir, "none", "a.las")},
		"damaged points": {filepath.Join(vectors, "hostile", "truncated.laz"), filepath.Join(dir, "a.laz")},
	} {
		if _, err := las.Convert(context.Background(), tt[0], tt[1], las.ConvertOptions{Workers: 2}); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	for _, name := range []string{"a.las", "a.laz"} {
		if _, err := las.Convert(ctx, good, filepath.Join(dir, name), las.ConvertOptions{Workers: 2}); !errors.Is(err, context.Canceled) {
			t.Errorf("cancelled: %v", err)
		}
	}
	if left, _ := os.ReadDir(dir); len(left) > 0 {
		t.Errorf("%v was left", left)
	}
}

func TestWhatIsWrittenAsLAZIsReadBack(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.laz")
	for format := uint8(0); format <= las.MaxFormat; format++ {
		rapid.Check(t, func(t *rapid.T) { writeAndRead(t, path, 4, format) })
	}
}

// sortedRecords returns the file's records in an order of their own.
func sortedRecords(t testing.TB, f *las.File) []string {
	t.Helper()
	h, all := f.Header(), allRecords(t, f)
	var records []string
	for i := 0; i < len(all); i += h.RecordLength() {
		records = append(records, string(all[i:i+h.RecordLength()]))
	}
	slices.Sort(records)
	return records
}

func TestToCOPCKeepsEveryPoint(t *testing.T) {
	for _, name := range []string{"pdrf06", "pdrf07", "pdrf08", "pdrf06-mc", "pdrf07-ch2", "pdrf06-evlr", "pdrf06-empty", "pdrf06-one"} {
		in := filepath.Join(vectors, name+".las")
		out, report := convert(t, in, "a.copc.laz", 2)
		from, to := open(t, in), open(t, out)
		if !report.Reordered || report.From != report.To || report.Points != from.Info().Count {
			t.Errorf("%s: report is %+v", name, report)
		}
		if !slices.Equal(sortedRecords(t, from), sortedRecords(t, to)) {
			t.Errorf("%s: the points differ", name)
		}
		if _, differences, err := to.Actual(context.Background()); err != nil || len(differences)+len(to.Warnings()) > 0 {
			t.Errorf("%s: %q %q, %v", name, differences, to.Warnings(), err)
		}
		if b := fileBytes(t, out); !copc.IsCOPC(b) {
			t.Errorf("%s: this is no COPC file", name)
		}
	}
}

func TestToCOPCRewritesOldFormats(t *testing.T) {
	for format, want := range []uint8{6, 6, 7, 7} {
		path := filepath.Join(t.TempDir(), "a.las")
		writeFile(t, path, sound(t, uint8(format)))
		out, report := convert(t, path, "a.copc.laz", 1)
		if report.From != uint8(format) || report.To != want || !strings.Contains(strings.Join(report.Notes, "; "), "became") {
			t.Errorf("format %d: report is %+v", format, report)
		}
		got, all := readAll(t, open(t, out)), readAll(t, open(t, path))
		slices.Sort(got.X)
		if !slices.Equal(got.X, all.X) || !slices.Equal(got.Return, all.Return) {
			t.Errorf("format %d: points are %+v", format, got)
		}
		if h := open(t, out).Header(); len(h.EVLRs) != 2 || !slices.ContainsFunc(h.VLRs, func(v las.VLR) bool { return v.UserID == "somebody" }) {
			t.Errorf("format %d: records are %v, %v", format, h.VLRs, h.EVLRs)
		}
	}
}

func TestToCOPCNeedsTextForTheCRS(t *testing.T) {
	in, dir := rock(t), t.TempDir()
	out := filepath.Join(dir, "a.copc.laz")
	if _, err := las.Convert(context.Background(), in, out, las.ConvertOptions{Workers: 1}); err == nil || !strings.Contains(err.Error(), "EPSG:3645") {
		t.Errorf("without a definition: %v", err)
	}
	const wkt = `LOCAL_CS["stands for EPSG:3645"]`
	define := func(c vector.CRS) (vector.CRS, error) {
		c.WKT = wkt
		return c, nil
	}
	if _, err := las.Convert(context.Background(), in, out, las.ConvertOptions{Workers: 1, Define: define}); err != nil {
		t.Fatal(err)
	}
	f := open(t, out)
	if f.Info().CRS.WKT != wkt || f.Info().Count != 21932 || len(f.Warnings()) > 0 {
		t.Errorf("info is %+v, warnings %q", f.Info(), f.Warnings())
	}
}

func TestToCOPCRefusesWaveformPackets(t *testing.T) {
	for _, name := range []string{"pdrf04.las", "pdrf05.laz", "pdrf09.las", "pdrf10.laz"} {
		dir := t.TempDir()
		_, err := las.Convert(context.Background(), filepath.Join(vectors, name), filepath.Join(dir, "a.copc.laz"), las.ConvertOptions{Workers: 1})
		var fault *las.FormatError
		if !errors.As(err, &fault) {
			t.Errorf("%s: error is %v", name, err)
		}
		if left, _ := os.ReadDir(dir); len(left) > 0 {
			t.Errorf("%s: %v was left", name, left)
		}
	}
}

package las_test

import (
	"context"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"quoin/extract/cloud"
	"quoin/extract/las"
)

// site returns a file of one point with records; version 4, format 6.
func site(t *testing.T, vlrs, evlrs []las.VLR) *las.File {
	t.Helper()
	h := millimetres(4, 6)
	h.VLRs, h.EVLRs = vlrs, evlrs
	return open(t, create(t, h, &cloud.Batch{X: []float64{500000}, Y: []float64{5700000}, Z: []float64{100}, Return: []uint8{1}}))
}

func record(id uint16, data string) las.VLR {
	return las.VLR{UserID: "somebody", RecordID: id, Data: []byte(data)}
}

// Records of several files, by LAS 1.4 R15, 2.5 and 2.7: user id and record id name a
// record's content.
func TestRelabelMergesRecords(t *testing.T) {
	long := strings.Repeat("x", 70000) // a VLR has at most 65,535 bytes
	files := []*las.File{
		site(t, []las.VLR{record(1, "one"), record(2, "two")}, []las.VLR{record(3, "three")}),
		site(t, []las.VLR{record(1, "one"), record(2, "TWO"), record(4, "four")}, []las.VLR{record(5, long)}),
		site(t, []las.VLR{record(4, "four"), record(6, "")}, nil),
	}
	for _, name := range []string{"a.las", "a.laz"} {
		out := filepath.Join(t.TempDir(), name)
		report, err := las.Relabel(context.Background(), files, out, las.RelabelOptions{Workers: 1}, func(*cloud.Batch, []uint8) {})
		if err != nil {
			t.Fatal(err)
		}
		h := open(t, out).Header()
		got := map[uint16]string{}
		n := 0
		for _, v := range slices.Concat(h.VLRs, h.EVLRs) {
			if v.UserID == "somebody" {
				got[v.RecordID] = string(v.Data)
				n++
			}
		}
		want := map[uint16]string{1: "one", 2: "two", 3: "three", 4: "four", 5: long, 6: ""}
		if n != len(want) {
			t.Errorf("%s: %d records, want %d", name, n, len(want))
		}
		for id, data := range want {
			if got[id] != data {
				t.Errorf("%s: record %d is %.20q, want %.20q", name, id, got[id], data)
			}
		}
		if report.Points != 3 || len(report.Notes) != 2 || !strings.Contains(report.Notes[0], "record 2 of") || !strings.Contains(report.Notes[1], "3 records") {
			t.Errorf("%s: %d points, notes %q", name, report.Points, report.Notes)
		}
		if len(files[0].Header().VLRs) != 2 {
			t.Error("the first file's own records have changed")
		}
	}
}

func TestRelabelRefusesExtraBytesOfAnotherMeaning(t *testing.T) {
	file := func(meaning string) *las.File {
		h := millimetres(4, 6)
		h.ExtraBytes = 2
		data := make([]byte, 192)
		copy(data[4:], meaning)
		data[2] = 3 // unsigned short, LAS 1.4 R15, table 24
		h.VLRs = []las.VLR{{UserID: "LASF_Spec", RecordID: 4, Data: data}}
		return open(t, create(t, h, &cloud.Batch{X: []float64{500000}, Y: []float64{5700000}, Z: []float64{100}, Return: []uint8{1}}))
	}
	for meaning, refused := range map[string]bool{"amplitude": false, "range": true} {
		out := filepath.Join(t.TempDir(), "a.las")
		_, err := las.Relabel(context.Background(), []*las.File{file("amplitude"), file(meaning)}, out, las.RelabelOptions{Workers: 1}, func(*cloud.Batch, []uint8) {})
		if (err != nil) != refused {
			t.Errorf("%s: %v, want an error: %v", meaning, err, refused)
		}
	}
}

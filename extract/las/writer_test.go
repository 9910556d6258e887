package las_test

import (
	"os"
	"path/filepath"
	"testing"

	"quoin/extract/cloud"
	"quoin/extract/las"
	"quoin/vector"
)

func TestCreateWritesHeaderAndRecords(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.las")
	w, err := las.Create(path, las.Header{
		Version: 4, Format: 6, Scale: [3]float64{0.001, 0.001, 0.001},
		Offset: [3]float64{500000, 5700000, 0}, CRS: vector.CRS{WKT: `LOCAL_CS["x",UNIT["metre",1]]`},
	})
	if err != nil {
		t.Fatal(err)
	}
	err = w.Write(&cloud.Batch{X: []float64{500001}, Y: []float64{5700002}, Z: []float64{3}, Return: []uint8{1}, Returns: []uint8{2}})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := os.Stat(path); err == nil {
		t.Error("the file has its name before Close")
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	info, err := os.Stat(path)
	if err != nil {
		t.Fatal(err)
	}
	if got, want := info.Size(), int64(375+54+30+30); got != want {
		t.Errorf("size is %d, want %d", got, want)
	}
}

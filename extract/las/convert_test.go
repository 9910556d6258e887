package las_test

import (
	"bytes"
	"context"
	"path/filepath"
	"testing"

	"quoin/extract/las"
)

func TestConvertToLASKeepsEveryByte(t *testing.T) {
	for format := range uint8(las.MaxFormat + 1) {
		path := filepath.Join(t.TempDir(), "a.las")
		b := sound(t, format)
		copy(b[26:58], "scanner\x00padding behind the end")
		copy(b[375+22:], "text\x00padding")
		writeFile(t, path, b)
		out := filepath.Join(t.TempDir(), "b.las")
		report, err := las.Convert(context.Background(), path, out, las.ConvertOptions{Workers: 1})
		if err != nil {
			t.Fatal(err)
		}
		if report.Points != 10 || report.From != format || report.To != format || len(report.Notes) > 0 {
			t.Errorf("report is %+v", report)
		}
		if !bytes.Equal(fileBytes(t, out), b) {
			t.Errorf("format %d: the copy differs", format)
		}
	}
}

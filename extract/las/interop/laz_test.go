package interop

import (
	"crypto/sha256"
	"fmt"
	"path/filepath"
	"testing"

	"quoin/extract/las"
)

// formats are the point formats that laz-perf decodes.
var formats = []uint8{0, 1, 2, 3, 6, 7, 8}

func write(t testing.TB, path string, h las.Header, records []byte) {
	t.Helper()
	w, err := las.Create(path, h)
	if err == nil {
		defer w.Abort()
		err = w.WriteRecords(records)
	}
	if err == nil {
		err = w.Close()
	}
	if err != nil {
		t.Fatal(err)
	}
}

// A cloud is what is to be made up.
type cloud struct{ points, extra, channels int }

// TestOthersDecodeWhatWeEncode writes files of each format that laz-perf
// knows, with and without extra bytes, of one scanner channel and several, of
// numbers of points about a chunk's, and has laz-perf 0.0.7 decode them.
func TestOthersDecodeWhatWeEncode(t *testing.T) {
	p := newPeer(t)
	dir := t.TempDir()
	var paths, want []string
	for _, format := range formats {
		cases := []cloud{{1, 0, 1}, {2, 3, 1}, {50_001, 5, 4}}
		if format == 1 || format == 7 {
			cases = append(cases, cloud{49_999, 0, 1}, cloud{50_000, 0, 1})
		}
		for _, c := range cases {
			s := newScan(format, c.extra, c.channels)
			records := s.records(c.points)
			path := filepath.Join(dir, fmt.Sprintf("%d-%d.laz", format, c.points))
			write(t, path, s.header(format), records)
			paths = append(paths, path)
			want = append(want, fmt.Sprintf("%d %x", c.points, sha256.Sum256(records)))
		}
	}
	got := p.run(t, append([]string{"laz"}, paths...)...)
	if len(got) != len(want) {
		t.Fatalf("the decoder prints %d lines for %d files: %q", len(got), len(want), got)
	}
	for i := range want {
		if got[i] != want[i] {
			t.Errorf("%s: decoded %s, want %s", filepath.Base(paths[i]), got[i], want[i])
		}
	}
}

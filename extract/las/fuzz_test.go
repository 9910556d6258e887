package las_test

import (
	"context"
	"encoding/binary"
	"os"
	"path/filepath"
	"testing"

	"quoin/extract/las"
)

// FuzzOpen reads whatever bytes there are: neither a panic nor more points
// than the bytes can hold may come of it.
func FuzzOpen(f *testing.F) {
	for format := range uint8(las.MaxFormat + 1) {
		f.Add(sound(f, format))
	}
	b := sound(f, 6)
	binary.LittleEndian.PutUint32(b[100:], 1000)
	f.Add(b)
	f.Add(b[:400])
	for _, name := range []string{"pdrf00-three.laz", "pdrf07-three.laz", "pdrf06-var-notable.laz", "copc-pdrf07.copc.laz"} {
		if b, err := os.ReadFile(filepath.Join(vectors, name)); err == nil {
			f.Add(b)
		}
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		file, err := openBytes(b)
		if err != nil {
			return
		}
		points := 0
		for batch, err := range file.Batches(context.Background()) {
			if err != nil {
				if file.Compressed() {
					return
				}
				t.Fatalf("Open took it, reading did not: %v", err)
			}
			if points += batch.Len(); file.Compressed() && points > 1e6 {
				return // a few bytes may say the same point again and again
			}
		}
		if !file.Compressed() && (points > len(b)/20 || uint64(points) != file.Info().Count) {
			t.Fatalf("%d points, the header says %d in %d bytes", points, file.Info().Count, len(b))
		}
	})
}

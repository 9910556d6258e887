package copc_test

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"

	"quoin/extract/las/copc"
	"quoin/extract/las/laz"
)

// FuzzReader opens whatever claims to be a COPC file, and reads all of its
// hierarchy and a window of its points.
func FuzzReader(f *testing.F) {
	for _, pattern := range []string{"copc*.laz", "hostile/copc*.laz"} {
		files, err := filepath.Glob(filepath.Join(vectors, pattern))
		if err != nil || len(files) == 0 {
			f.Fatal(err, files)
		}
		for _, name := range files {
			data, err := os.ReadFile(name)
			if err != nil {
				f.Fatal(err)
			}
			f.Add(data)
		}
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		r, err := copc.NewReader(bytes.NewReader(data), int64(len(data)))
		if err != nil {
			return
		}
		nodes, err := r.Nodes(everything())
		if err != nil {
			return
		}
		if most := len(data) / 32; len(nodes) > most {
			t.Fatalf("%d nodes in a file with room for %d", len(nodes), most)
		}
		total := 0
		for _, n := range nodes {
			if total += n.Points; total > 1<<20 {
				return // a few bytes can stand for millions of equal points
			}
		}
		q := everything()
		q.Box.Min = r.Info().Center
		q.Options = laz.ReaderOptions{Workers: 1, Layers: laz.LayerZ}
		for _, err := range r.Read(t.Context(), q) {
			if err != nil {
				break
			}
		}
	})
}

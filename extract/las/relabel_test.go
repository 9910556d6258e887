package las_test

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"quoin/extract/cloud"
	"quoin/extract/las"
	"quoin/vector"
)

// records returns all point records of a file.
func records(t *testing.T, f *las.File) []byte {
	t.Helper()
	var all []byte
	for r, err := range f.Records(context.Background()) {
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, r...)
	}
	return all
}

// TestRelabelChangesClassesOnly gives every point bridge deck in all eleven
// point formats: formats 0 to 5 know no class 17 (ASPRS LAS 1.4 R15, tables 9
// and 17) and get 1.
func TestRelabelChangesClassesOnly(t *testing.T) {
	for format := range 11 {
		in := filepath.Join(vectors, fmt.Sprintf("pdrf%02d.las", format))
		for _, name := range []string{"a.las", "a.laz"} {
			out := filepath.Join(t.TempDir(), name)
			f := open(t, in)
			deck := func(b *cloud.Batch, classes []uint8) {
				for i := range classes {
					classes[i] = 17
				}
			}
			if _, err := las.Relabel(context.Background(), []*las.File{f}, out, las.RelabelOptions{Workers: 2}, deck); err != nil {
				t.Fatal(err)
			}
			g := open(t, out)
			h := f.Header()
			before, after, length := records(t, f), records(t, g), h.RecordLength()
			if len(before) != len(after) {
				t.Fatalf("format %d: %d bytes became %d", format, len(before), len(after))
			}
			for at := 0; at < len(before); at += length {
				if format < 6 {
					class := before[at+15] & 31
					before[at+15] = before[at+15]&0xE0 | 1
					if class == 17 { // was there before: stays
						before[at+15] = before[at+15]&0xE0 | 17
					}
				} else {
					before[at+16] = 17
				}
			}
			if !bytes.Equal(before, after) {
				t.Errorf("format %d to %s: more than the class has changed", format, name)
			}
			if len(g.Header().VLRs) < len(h.VLRs) || len(g.Header().EVLRs) != len(h.EVLRs) {
				t.Errorf("format %d to %s: records are missing", format, name)
			}
		}
	}
}

func TestRelabelUpgrades(t *testing.T) {
	for format, want := range map[int]uint8{0: 6, 1: 6, 2: 7, 3: 7, 6: 6, 8: 8} {
		f := open(t, filepath.Join(vectors, fmt.Sprintf("pdrf%02d.las", format)))
		out := filepath.Join(t.TempDir(), "a.laz")
		o := las.RelabelOptions{Workers: 1, Upgrade: true, Define: func(c vector.CRS) (vector.CRS, error) {
			c.WKT = `PROJCS["any"]`
			return c, nil
		}}
		noise := func(b *cloud.Batch, classes []uint8) {
			for i := range classes {
				classes[i] = 18
			}
		}
		if _, err := las.Relabel(context.Background(), []*las.File{f}, out, o, noise); err != nil {
			t.Fatalf("format %d: %v", format, err)
		}
		g := open(t, out)
		if g.Header().Format != want || g.Info().Count != f.Info().Count {
			t.Errorf("format %d became %d with %d points, want %d with %d", format, g.Header().Format, g.Info().Count, want, f.Info().Count)
		}
		for b, err := range g.Batches(context.Background()) {
			if err != nil {
				t.Fatal(err)
			}
			if slices.ContainsFunc(b.Class, func(c uint8) bool { return c != 18 }) {
				t.Errorf("format %d: a class is not 18", format)
			}
		}
	}
}

func TestRelabelRefuses(t *testing.T) {
	same := func(*cloud.Batch, []uint8) {}
	vector := func(n int) *las.File { return open(t, filepath.Join(vectors, fmt.Sprintf("pdrf%02d.las", n))) }
	for name, c := range map[string]struct {
		files []*las.File
		out   string
		o     las.RelabelOptions
	}{
		"two formats":           {[]*las.File{vector(1), vector(3)}, "a.las", las.RelabelOptions{}},
		"waves of two files":    {[]*las.File{vector(4), vector(4)}, "a.las", las.RelabelOptions{}},
		"waves to be rewritten": {[]*las.File{vector(5)}, "a.las", las.RelabelOptions{Upgrade: true}},
		"an octree":             {[]*las.File{vector(6)}, "a.copc.laz", las.RelabelOptions{}},
		"another kind":          {[]*las.File{vector(6)}, "a.txt", las.RelabelOptions{}},
	} {
		dir := t.TempDir()
		if _, err := las.Relabel(context.Background(), c.files, filepath.Join(dir, c.out), c.o, same); err == nil {
			t.Errorf("%s: no error", name)
		}
		if left, _ := os.ReadDir(dir); len(left) > 0 {
			t.Errorf("%s: %v was left", name, left)
		}
	}
}

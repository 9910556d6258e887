package interop

import (
	"bytes"
	"context"
	"crypto/sha256"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"quoin/extract/las"
	"quoin/extract/las/copc"
	"quoin/extract/las/laz"
)

// TestOthersReadOurCOPC converts clouds to COPC, some of them through temporary
// files, and has the reader of copc 0.0.8 walk the hierarchy and decode every
// node: it must find the nodes that our reader does, with the same records,
// each in its cube, and all of the points.
func TestOthersReadOurCOPC(t *testing.T) {
	p := newPeer(t)
	for _, c := range []struct {
		name           string
		format         uint8
		points, memory int
	}{
		{"several levels", 6, 150_000, 8 << 20},
		{"temporary files", 7, 150_000, 20_000},
		{"rewritten from format 3", 3, 70_000, 8 << 20},
		{"near infrared", 8, 70_000, 8 << 20},
		{"one point", 6, 1, 8 << 20},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := newScan(c.format, 2, 1)
			records := s.records(c.points)
			path := filepath.Join(t.TempDir(), "a.copc.laz")
			if c.format < 6 || c.memory == 8<<20 {
				convert(t, s.header(c.format), records, path)
			} else {
				spill(t, s.header(c.format), records, path, c.memory)
			}
			got := p.run(t, "copc", path)
			slices.Sort(got)
			want, total, all := nodes(t, path)
			if !slices.Equal(got, want) {
				t.Errorf("the reader of others finds\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
			}
			if total != c.points {
				t.Errorf("the nodes have %d points, want %d", total, c.points)
			}
			if c.format >= 6 && !sameRecords(all, records, s.length) {
				t.Error("the points are not those that were written")
			}
		})
	}
}

// convert goes the way of a user, over a plain file.
func convert(t *testing.T, h las.Header, records []byte, path string) {
	t.Helper()
	plain := strings.TrimSuffix(path, ".copc.laz") + ".las"
	write(t, plain, h, records)
	if _, err := las.Convert(context.Background(), plain, path, las.ConvertOptions{Workers: 2}); err != nil {
		t.Fatal(err)
	}
}

// spill writes with few points in memory.
func spill(t *testing.T, h las.Header, records []byte, path string, memory int) {
	t.Helper()
	file, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	w, err := copc.NewWriter(file, copc.Header{
		Format: int(h.Format), RecordLength: h.RecordLength(), Scale: h.Scale, Offset: h.Offset,
	}, copc.WriterOptions{Workers: 2, Memory: memory, Dir: t.TempDir()})
	if err != nil {
		t.Fatal(err)
	}
	defer w.Abort()
	if err := w.Write(records); err != nil {
		t.Fatal(err)
	}
	if _, err := w.Close(context.Background()); err != nil {
		t.Fatal(err)
	}
}

// nodes reads a file with our reader. It returns a line a node as the script
// prints it, with no point outside, the number of points, and all of them.
func nodes(t *testing.T, path string) (lines []string, total int, all []byte) {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	r, err := copc.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	q := copc.Query{Box: copc.Everywhere(), Options: laz.DefaultReaderOptions()}
	sums := map[copc.Key][]byte{}
	counts := map[copc.Key]int{}
	for part, err := range r.Read(context.Background(), q) {
		if err != nil {
			t.Fatal(err)
		}
		k := part.Node.Key
		sums[k] = append(sums[k], part.Records...)
		counts[k] = part.Node.Points
		all = append(all, part.Records...)
	}
	for k, records := range sums {
		total += counts[k]
		lines = append(lines, fmt.Sprintf("%d-%d-%d-%d %d %x 0", k.Level, k.X, k.Y, k.Z, counts[k], sha256.Sum256(records)))
	}
	slices.Sort(lines)
	return lines, total, all
}

// sameRecords reports whether two clouds have the same points in any order.
func sameRecords(a, b []byte, size int) bool {
	sorted := func(all []byte) []string {
		var list []string
		for ; len(all) >= size; all = all[size:] {
			list = append(list, string(all[:size]))
		}
		slices.Sort(list)
		return list
	}
	return slices.Equal(sorted(a), sorted(b))
}

package copc_test

import (
	"bytes"
	"encoding/binary"
	"math"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"testing"

	"quoin/extract/las/copc"
	"quoin/extract/las/laz"
)

const vectors = "../../../testdata/laz"

func load(t testing.TB, name string) []byte {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(vectors, name))
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// points returns the records of an uncompressed vector.
func points(t testing.TB, name string) []byte {
	data := load(t, name)
	return data[binary.LittleEndian.Uint32(data[96:]):]
}

// A recorder takes note of what is read of a file.
type recorder struct {
	*bytes.Reader
	mu   sync.Mutex
	read [][2]int64
}

func (r *recorder) ReadAt(b []byte, off int64) (int, error) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.read = append(r.read, [2]int64{off, off + int64(len(b))})
	return r.Reader.ReadAt(b, off)
}

func (r *recorder) touched(from, to int64) bool {
	return slices.ContainsFunc(r.read, func(x [2]int64) bool { return x[0] < to && from < x[1] })
}

func everything() copc.Query {
	return copc.Query{Box: copc.Everywhere(), Options: laz.ReaderOptions{Workers: 2, Layers: laz.AllLayers}}
}

func read(t testing.TB, r *copc.Reader, q copc.Query) ([]byte, error) {
	var got []byte
	for p, err := range r.Read(t.Context(), q) {
		if err != nil {
			return got, err
		}
		got = append(got, p.Records...)
	}
	return got, nil
}

// xyz returns the coordinates of a record.
func xyz(r *copc.Reader, rec []byte) (v [3]float64) {
	for i := range v {
		v[i] = float64(int32(binary.LittleEndian.Uint32(rec[4*i:])))*r.Scale()[i] + r.Offset()[i]
	}
	return v
}

func inside(b copc.Box, v [3]float64) bool {
	for i := range v {
		if v[i] < b.Min[i] || v[i] > b.Max[i] {
			return false
		}
	}
	return true
}

// TestVectors reads the published files, whose nodes stand in the order of the
// points that they were made of: all of it, each level, and windows, which are
// compared with a search of all points.
func TestVectors(t *testing.T) {
	for _, name := range []string{"copc-pdrf06", "copc-pdrf07", "copc-pdrf08"} {
		t.Run(name, func(t *testing.T) {
			data, want := load(t, name+".copc.laz"), points(t, name+".las")
			file := &recorder{Reader: bytes.NewReader(data)}
			r, err := copc.NewReader(file, int64(len(data)))
			if err != nil {
				t.Fatal(err)
			}
			got, err := read(t, r, everything())
			if err != nil {
				t.Fatal(err)
			}
			if !bytes.Equal(got, want) {
				t.Fatal("the points differ")
			}
			nodes, err := r.Nodes(everything())
			if err != nil {
				t.Fatal(err)
			}
			if len(nodes) != 6 || r.Count() != 85 {
				t.Errorf("%d nodes, %d points, want 6 and 85", len(nodes), r.Count())
			}
			checkQueries(t, r, nodes, want)
		})
	}
}

// checkQueries reads windows of various sizes at various levels, and compares
// what comes with all points, of which nodes have those that follow one another.
func checkQueries(t *testing.T, r *copc.Reader, nodes []copc.Node, all []byte) {
	t.Helper()
	size := r.Record().RecordLength()
	whole := r.Info().Cube(copc.Key{})
	for _, share := range []float64{0, 0.1, 0.3, 0.5, 1} {
		for corner := range 8 {
			for level := range int32(4) {
				q := everything()
				for i := range 3 {
					width := (whole.Max[i] - whole.Min[i]) * share
					q.Box.Min[i] = whole.Min[i] + (whole.Max[i]-whole.Min[i]-width)*float64(corner>>i&1)
					q.Box.Max[i] = q.Box.Min[i] + width
				}
				q.Spacing = math.Ldexp(r.Info().Spacing, -int(level))
				var want []byte
				at := 0
				for _, n := range nodes {
					for range n.Points {
						rec := all[at : at+size]
						at += size
						if n.Key.Level <= level && inside(q.Box, xyz(r, rec)) {
							want = append(want, rec...)
						}
					}
				}
				got, err := read(t, r, q)
				if err != nil {
					t.Fatal(err)
				}
				if !bytes.Equal(got, want) {
					t.Fatalf("share %v corner %d level %d: %d points, want %d", share, corner, level, len(got)/size, len(want)/size)
				}
			}
		}
	}
}

// TestWindowTouchesFewChunks looks at what is read of the file for a window
// with but one of the leaves.
func TestWindowTouchesFewChunks(t *testing.T) {
	data := load(t, "copc-pdrf06.copc.laz")
	r, err := copc.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	nodes, err := r.Nodes(everything())
	if err != nil {
		t.Fatal(err)
	}
	for _, leaf := range nodes {
		file := &recorder{Reader: bytes.NewReader(data)}
		r, err := copc.NewReader(file, int64(len(data)))
		if err != nil {
			t.Fatal(err)
		}
		q := everything()
		cube := r.Info().Cube(leaf.Key)
		for i := range 3 {
			// A part of it that no neighbour shares.
			third := (cube.Max[i] - cube.Min[i]) / 3
			q.Box.Min[i], q.Box.Max[i] = cube.Min[i]+third, cube.Max[i]-third
		}
		if _, err := read(t, r, q); err != nil {
			t.Fatal(err)
		}
		needed, err := r.Nodes(q)
		if err != nil {
			t.Fatal(err)
		}
		for _, n := range nodes {
			if touched := file.touched(n.Offset, n.Offset+n.Size); touched != slices.Contains(needed, n) {
				t.Errorf("window in %v: chunk of %v touched: %v", leaf.Key, n.Key, touched)
			}
		}
	}
}

// TestHostileVectors reads files that were damaged on purpose.
func TestHostileVectors(t *testing.T) {
	files, err := filepath.Glob(filepath.Join(vectors, "hostile", "*.copc.laz"))
	if err != nil || len(files) != 5 {
		t.Fatalf("%d files, error %v", len(files), err)
	}
	for _, path := range files {
		t.Run(filepath.Base(path), func(t *testing.T) {
			data := load(t, filepath.Join("hostile", filepath.Base(path)))
			r, err := copc.NewReader(bytes.NewReader(data), int64(len(data)))
			if err == nil {
				_, err = read(t, r, everything())
			}
			if err == nil {
				t.Error("no error")
			}
			t.Log(err)
		})
	}
}

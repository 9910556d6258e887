package las_test

import (
	"bytes"
	"context"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"quoin/extract/las"
)

// vectors are LAZ files made with the reference codec library, each beside
// the LAS file it was made from; testdata/laz/README.md tells of them.
const vectors = "../../testdata/laz"

func open(t testing.TB, path string) *las.File {
	t.Helper()
	f, err := las.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

func allRecords(t testing.TB, f *las.File) []byte {
	t.Helper()
	var all []byte
	for run, err := range f.Records(context.Background()) {
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, run...)
	}
	return all
}

// plainOf returns the LAS file that a vector was made from, empty when that
// has another name.
func plainOf(path string) string {
	plain := strings.TrimSuffix(strings.TrimSuffix(path, ".laz"), ".copc") + ".las"
	if _, err := os.Stat(plain); err != nil {
		return ""
	}
	return plain
}

func TestLAZIsReadLikeLAS(t *testing.T) {
	paths, err := filepath.Glob(filepath.Join(vectors, "*.laz"))
	if err != nil || len(paths) == 0 {
		t.Fatalf("no vectors in %s: %v", vectors, err)
	}
	compared := 0
	for _, path := range paths {
		f := open(t, path)
		if !f.Compressed() {
			t.Errorf("%s is not told to be compressed", path)
		}
		records := allRecords(t, f.Workers(3))
		plain := plainOf(path)
		if plain == "" {
			continue
		}
		compared++
		g := open(t, plain)
		if !bytes.Equal(records, allRecords(t, g)) {
			t.Errorf("%s differs from %s", path, plain)
		}
		if d := cmp.Diff(readAll(t, g), readAll(t, f), cmpopts.EquateEmpty(), cmpopts.EquateNaNs()); d != "" {
			t.Errorf("%s: columns differ: %s", path, d)
		}
		if a, b := f.Header(), g.Header(); a.Count != b.Count || a.Format != b.Format || a.ExtraBytes != b.ExtraBytes {
			t.Errorf("%s: %d points of format %d, want %d of %d", path, a.Count, a.Format, b.Count, b.Format)
		}
	}
	if compared < 20 {
		t.Errorf("only %d vectors have a LAS file beside them", compared)
	}
}

// Layers that are left out keep a chunk's first value; those asked for are as
// in the whole file.
func TestOnlyDecompressesTheColumnsAskedFor(t *testing.T) {
	for _, name := range []string{"pdrf06-mc-v3.laz", "pdrf07-mc-v4.laz", "pdrf03.laz"} {
		f := open(t, filepath.Join(vectors, name))
		want, got := readAll(t, f), readAll(t, f.Only(las.Time|las.Class|las.Source))
		want.Intensity, want.Flags, want.ScanAngle, want.Red, want.Green, want.Blue = nil, nil, nil, nil, nil, nil
		if d := cmp.Diff(want, got, cmpopts.EquateEmpty(), cmpopts.EquateNaNs()); d != "" {
			t.Errorf("%s: %s", name, d)
		}
	}
}

func TestHostileLAZGivesAnErrorOrIsRead(t *testing.T) {
	paths, err := filepath.Glob(filepath.Join(vectors, "hostile", "*"))
	if err != nil || len(paths) == 0 {
		t.Fatalf("no vectors in %s/hostile: %v", vectors, err)
	}
	for _, path := range paths {
		f, err := las.Open(path)
		var fault *las.FormatError
		if err != nil {
			if !errors.As(err, &fault) {
				t.Errorf("%s: %v is no FormatError", path, err)
			}
			continue
		}
		var points uint64
		for b, err := range f.Batches(context.Background()) {
			if err != nil {
				if !strings.Contains(err.Error(), filepath.Base(path)) || strings.Contains(err.Error(), "\n") {
					t.Errorf("error is %q", err)
				}
				points = f.Info().Count
				break
			}
			points += uint64(b.Len())
		}
		if points != f.Info().Count {
			t.Errorf("%s: %d points of %d without an error", path, points, f.Info().Count)
		}
	}
}

func TestLAZWithoutAChunkTableIsWarnedOf(t *testing.T) {
	f := open(t, filepath.Join(vectors, "pdrf06-notable.laz"))
	if w := strings.Join(f.Warnings(), ""); !strings.Contains(w, "chunk table") {
		t.Errorf("warnings are %q", w)
	}
}

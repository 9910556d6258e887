package laz_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"quoin/extract/las/laz"
)

// original returns the name of the LAS file that a vector was made of; see the
// table in the folder's README.
func original(name string) string {
	base := strings.TrimSuffix(strings.TrimSuffix(name, ".laz"), ".copc")
	for _, suffix := range []string{"-v1", "-v3", "-v4"} {
		base = strings.TrimSuffix(base, suffix)
	}
	for _, suffix := range []string{"-pointwise", "-notable", "-varstream", "-stream", "-var", "-exact"} {
		base = strings.TrimSuffix(base, suffix)
	}
	if strings.HasSuffix(base, "-rescale") {
		return ""
	}
	return base + ".las"
}

func names(t testing.TB) []string {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(vectors, "*.laz"))
	if err != nil || len(files) < 60 {
		t.Fatalf("%d vectors, error %v", len(files), err)
	}
	for i, f := range files {
		files[i] = filepath.Base(f)
	}
	return files
}

// want returns the records that a vector must decode to.
func want(t testing.TB, name string) []byte {
	t.Helper()
	if las := original(name); las != "" {
		return readFile(t, las).points()
	}
	return rescale(strings.HasPrefix(name, "pdrf06"))
}

// rescale returns the points of the vectors that are too large to be stored,
// by the recipe in the folder's README.
func rescale(layered bool) []byte {
	var b []byte
	le := binary.LittleEndian
	for i := range uint32(40000) {
		b = le.AppendUint32(b, 10*i+i%7)
		b = le.AppendUint32(b, 5*i-i%3)
		b = le.AppendUint32(b, 1000+i%5)
		b = le.AppendUint16(b, uint16(i%11))
		if !layered {
			b = append(b, 0x09, byte(2+i%2), 0, 0)
			b = le.AppendUint16(b, 7)
			continue
		}
		b = append(b, 0x11, 0, byte(2+i%2), 0, 0, 0)
		b = le.AppendUint16(b, 7)
		b = le.AppendUint64(b, 0x40f86a0000000000+1000*uint64(i))
	}
	return b
}

func TestRescaleIsAsPublished(t *testing.T) {
	for layered, want := range map[bool]string{
		false: "22d804ec7a8e25836851f99441115007228fa1fc2241d430bde4367bc4d68bbf",
		true:  "9915e5441b584c54c017931101c08f2ff5864dc44f81269bef5630c2bb933f3e",
	} {
		if got := sha256.Sum256(rescale(layered)); hex.EncodeToString(got[:]) != want {
			t.Errorf("layered %v: got %x, want %s", layered, got, want)
		}
	}
}

// TestDecodeVectors reads all vectors, which the reference codec wrote, with one
// worker and with several, and compares them with what they were made of.
func TestDecodeVectors(t *testing.T) {
	for _, name := range names(t) {
		t.Run(name, func(t *testing.T) {
			f, want := readFile(t, name), want(t, name)
			for _, workers := range []int{1, 3} {
				r, err := f.reader(laz.ReaderOptions{Workers: workers, Layers: laz.AllLayers})
				if err != nil {
					t.Fatal(err)
				}
				got, err := all(t, r)
				if err != nil {
					t.Fatal(err)
				}
				if !bytes.Equal(got, want) {
					t.Fatalf("%d workers: %s", workers, difference(got, want, f.length))
				}
				if damaged := strings.Contains(name, "notable"); damaged != (r.Damage() != nil) {
					t.Errorf("damage is %v", r.Damage())
				}
			}
		})
	}
}

// TestReadChunkInAnyOrder reads the chunks of all vectors last to first.
func TestReadChunkInAnyOrder(t *testing.T) {
	for _, name := range names(t) {
		t.Run(name, func(t *testing.T) {
			f, want := readFile(t, name), want(t, name)
			r, err := f.reader(laz.DefaultReaderOptions())
			if err != nil {
				t.Fatal(err)
			}
			for i := r.Chunks() - 1; i >= 0; i-- {
				x, err := r.Chunk(t.Context(), i)
				if err != nil {
					t.Fatal(err)
				}
				got, err := r.ReadChunk(t.Context(), i, nil)
				if err != nil {
					t.Fatal(err)
				}
				from := int(x.First) * f.length
				if w := want[from : from+int(x.Points)*f.length]; !bytes.Equal(got, w) {
					t.Fatalf("chunk %d: %s", i, difference(got, w, f.length))
				}
				if r.Find(x.First) != i || r.Find(x.First+x.Points-1) != i {
					t.Errorf("chunk %d isn't found by its points", i)
				}
			}
			if _, err := r.ReadChunk(t.Context(), r.Chunks(), nil); err == nil {
				t.Error("the chunk behind the last one can be read")
			}
		})
	}
}

// difference tells where records differ first.
func difference(got, want []byte, size int) string {
	if len(got) != len(want) {
		return fmt.Sprintf("got %d bytes, want %d", len(got), len(want))
	}
	for i := range got {
		if got[i] != want[i] {
			at := i / size * size
			return fmt.Sprintf("point %d differs at byte %d:\ngot  % x\nwant % x", i/size, i%size, got[at:at+size], want[at:at+size])
		}
	}
	return "they are equal"
}

// TestSelectedLayers compares what is left out with what the reference decoder
// returns for the same selection.
func TestSelectedLayers(t *testing.T) {
	f := readFile(t, "pdrf06-mc-v3.laz")
	extra := laz.LayerExtra(0) | laz.LayerExtra(1) | laz.LayerExtra(2)
	for name, layers := range map[string]laz.Layers{
		"xy": extra, "z-gps": laz.LayerZ | laz.LayerTime | extra, "intensity": laz.LayerIntensity | extra,
	} {
		t.Run(name, func(t *testing.T) {
			r, err := f.reader(laz.ReaderOptions{Workers: 1, Layers: layers})
			if err != nil {
				t.Fatal(err)
			}
			got, err := all(t, r)
			if err != nil {
				t.Fatal(err)
			}
			want := readFile(t, "pdrf06-mc-v3.sel-"+name+".las").points()
			if !bytes.Equal(got, want) {
				t.Error(difference(got, want, f.length))
			}
		})
	}
}

// TestHostileVectors reads files that were damaged on purpose. A few of them
// may be read, wrongly.
func TestHostileVectors(t *testing.T) {
	mayDecode := map[string]bool{"table-count.laz": true, "table-version.laz": true, "garbage.laz": true, "garbage6.laz": true}
	files, err := filepath.Glob(filepath.Join(vectors, "hostile", "*.laz"))
	if err != nil || len(files) < 15 {
		t.Fatalf("%d vectors, error %v", len(files), err)
	}
	for _, path := range files {
		name := filepath.Base(path)
		if strings.HasSuffix(name, ".copc.laz") {
			continue
		}
		t.Run(name, func(t *testing.T) {
			data, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			err = readAll(t, data)
			if err == nil && !mayDecode[name] {
				t.Error("no error")
			}
			if err != nil && strings.Contains(err.Error(), "\n") {
				t.Errorf("the error has several lines: %v", err)
			}
			t.Log(err)
		})
	}
}

// readAll reads all that can be read of a file.
func readAll(t testing.TB, data []byte) error {
	f, err := parseFile(data)
	if err != nil {
		return err
	}
	r, err := f.reader(laz.ReaderOptions{Workers: 2, Layers: laz.AllLayers})
	if err != nil {
		return err
	}
	_, err = all(t, r)
	return err
}

package laz_test

import (
	"bytes"
	"errors"
	"math/rand/v2"
	"strings"
	"testing"

	"quoin/extract/las/laz"
)

// thorough are vectors of all kinds that are cut at every byte; the others are
// cut here and there.
var thorough = map[string]bool{
	"pdrf00.laz": true, "pdrf01-v1.laz": true, "pdrf01-var.laz": true, "pdrf01-pointwise.laz": true, "pdrf05.laz": true,
	"pdrf06.laz": true, "pdrf06-var.laz": true, "pdrf06-var-notable.laz": true, "pdrf06-stream.laz": true, "pdrf10-mc-v4.laz": true,
	"pdrf06-empty.laz": true, "pdrf00-one.laz": true,
}

// TestTruncatedAtEveryByte cuts vectors off. What is read must be an error that
// tells the chunk and the point, after the points before it, unless all points
// are still there.
func TestTruncatedAtEveryByte(t *testing.T) {
	for _, name := range names(t) {
		t.Run(name, func(t *testing.T) {
			f, want := readFile(t, name), want(t, name)
			step := 197
			if thorough[name] {
				step = 1
			}
			if len(want) > 100000 {
				step = 4001
			}
			for n := len(f.data) - 1; n >= 0; n -= step {
				cut := *f
				cut.data = f.data[:n]
				r, err := cut.reader(laz.ReaderOptions{Workers: 1, Layers: laz.AllLayers})
				var got []byte
				if err == nil {
					got, err = all(t, r)
				}
				if !bytes.HasPrefix(want, got) {
					t.Fatalf("cut at %d: %s", n, difference(got, want[:len(got)], f.length))
				}
				if err == nil && len(got) != len(want) {
					t.Fatalf("cut at %d: no error, and %d bytes of %d", n, len(got), len(want))
				}
				var where *laz.ChunkError
				if err != nil && len(got) > 0 && !errors.As(err, &where) {
					t.Fatalf("cut at %d: the error doesn't tell where: %v", n, err)
				}
				if where != nil && (where.Point != uint64(len(got)/f.length) || !errors.Is(err, laz.ErrShort)) {
					t.Fatalf("cut at %d: after %d points: %v", n, len(got)/f.length, err)
				}
				if err != nil && strings.Contains(err.Error(), "\n") {
					t.Fatalf("cut at %d: the error has several lines: %v", n, err)
				}
			}
		})
	}
}

// TestDamagedTable spoils the chunk table. Points come all the same, where
// chunks can be found without it.
func TestDamagedTable(t *testing.T) {
	for _, name := range []string{"pdrf01.laz", "pdrf06.laz", "pdrf06-var.laz", "pdrf10-mc-v3.laz"} {
		f, want := readFile(t, name), want(t, name)
		for spoiled := range 8 {
			bad := *f
			bad.data = bytes.Clone(f.data)
			// The position, the version, the count, or the entries.
			table := int64(f.data[f.start]) | int64(f.data[f.start+1])<<8
			at := []int64{f.start + 1, f.start + 7, table, table + 4, table + 7, table + 8, table + 9, table + 10}[spoiled]
			bad.data[at] ^= 0x55
			r, err := bad.reader(laz.DefaultReaderOptions())
			if err != nil {
				t.Errorf("%s byte %d: %v", name, at, err)
				continue
			}
			got, err := all(t, r)
			if err != nil || !bytes.Equal(got, want) {
				t.Errorf("%s byte %d: %d bytes of %d, %v (%v)", name, at, len(got), len(want), err, r.Damage())
			}
			if r.Damage() == nil {
				t.Errorf("%s byte %d: the damage isn't seen", name, at)
			}
		}
	}
}

// TestRandomDamage changes bytes at random. Nothing may panic or hang.
func TestRandomDamage(t *testing.T) {
	rnd := rand.New(rand.NewPCG(9, 10))
	list := names(t)
	for range 3000 {
		f := readFile(t, list[rnd.IntN(len(list))])
		if len(f.data) > 10000 {
			continue
		}
		for range 1 + rnd.IntN(6) {
			f.data[int(f.start)+rnd.IntN(len(f.data)-int(f.start))] ^= byte(1 + rnd.IntN(255))
		}
		if r, err := f.reader(laz.ReaderOptions{Workers: 1, Layers: laz.AllLayers}); err == nil {
			_, _ = all(t, r)
		}
	}
}

// TestOneBadChunk spoils a chunk. The others can still be read.
func TestOneBadChunk(t *testing.T) {
	data, rec, records := small(t)
	r := open(t, bytes.NewReader(data), len(data), 5000, rec, 1)
	x, err := r.Chunk(t.Context(), 7)
	if err != nil {
		t.Fatal(err)
	}
	// The number of points in the chunk's head.
	data[x.Offset+30] ^= 1
	for i := range r.Chunks() {
		got, err := r.ReadChunk(t.Context(), i, nil)
		var where *laz.ChunkError
		switch {
		case i == 7 && (!errors.As(err, &where) || where.Chunk != 7 || where.Point != x.First || !errors.Is(err, laz.ErrCorrupt)):
			t.Errorf("the bad chunk gives %v", err)
		case i != 7 && (err != nil || !bytes.Equal(got, records[i*3000:][:3000])):
			t.Errorf("chunk %d can't be read: %v", i, err)
		}
	}
	got, err := all(t, r)
	if err == nil || !bytes.Equal(got, records[:x.First*30]) {
		t.Errorf("%d points come before the bad chunk, %v", len(got)/30, err)
	}
}

package laz_test

import (
	"bytes"
	"encoding/binary"
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"

	"quoin/extract/las/laz"
)

// wild returns n records of odd contents: fields stay, go on by a little, jump,
// or are at the ends of what they can be.
func wild(rnd *rand.Rand, format, size, n int) []byte {
	extremes := []uint32{0, 1, math.MaxUint32, math.MaxInt32, 1 << 31, 1<<31 + 1, 0xffff, 0x8000, 0x7fff}
	times := []uint64{
		math.Float64bits(math.NaN()), 0x7ff0000000000001, 1 << 63, 0, 1, math.MaxUint64, math.Float64bits(math.Inf(-1)),
		math.Float64bits(3e8), math.Float64bits(3e8 + 1e-6), math.Float64bits(-1e-300),
	}
	calm := rnd.IntN(8) // how seldom anything changes
	records := make([]byte, 0, n*size)
	rec := make([]byte, size)
	for range n {
		for at := 0; at < size; {
			width := min([]int{1, 2, 4}[rnd.IntN(3)], size-at)
			if rnd.IntN(calm+1) == 0 {
				change(rnd, rec[at:at+width], extremes)
			}
			at += width
		}
		if at := timeAt(format); at >= 0 && rnd.IntN(3) == 0 {
			t := times[rnd.IntN(len(times))]
			if rnd.IntN(2) == 0 {
				t = binary.LittleEndian.Uint64(rec[at:]) + uint64(rnd.IntN(5000)) - 1000
			}
			binary.LittleEndian.PutUint64(rec[at:], t)
		}
		records = append(records, rec...)
	}
	return records
}

func timeAt(format int) int {
	switch {
	case format >= 6:
		return 22
	case format == 1 || format >= 3:
		return 20
	}
	return -1
}

// change gives a field another value.
func change(rnd *rand.Rand, field []byte, extremes []uint32) {
	var b [4]byte
	copy(b[:], field)
	v := binary.LittleEndian.Uint32(b[:])
	switch rnd.IntN(4) {
	case 0:
		v = extremes[rnd.IntN(len(extremes))]
	case 1:
		v = rnd.Uint32()
	default:
		v += uint32(rnd.IntN(9)) - 4
	}
	binary.LittleEndian.PutUint32(b[:], v)
	copy(field, b[:])
}

// TestRoundTrip encodes and decodes wild records of all formats and versions,
// in chunks of one point and more, by one worker and by several.
func TestRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		format := rapid.IntRange(0, 10).Draw(t, "format")
		extra := rapid.SampledFrom([]int{0, 0, 1, 3, 20}).Draw(t, "extra bytes")
		n := rapid.IntRange(0, 700).Draw(t, "points")
		size := recordSizes[format] + extra
		rec, err := laz.NewRecord(format, size)
		if err != nil {
			t.Fatal(err)
		}
		if rapid.Bool().Draw(t, "other version") {
			for i := range rec.Items {
				switch {
				case format >= 6:
					rec.Items[i].Version = 4
				default:
					rec.Items[i].Version = 1
				}
			}
		}
		rec.ChunkSize = uint32(rapid.SampledFrom([]int{1, 2, 50, 256, 257, 1000}).Draw(t, "chunk size"))
		seed := rapid.Uint64().Draw(t, "seed")
		records := wild(rand.New(rand.NewPCG(seed, 0)), format, size, n)
		start := int64(rapid.IntRange(0, 100).Draw(t, "start"))
		var files [][]byte
		for _, workers := range []int{1, 3} {
			var m memory
			w, err := laz.NewWriter(&m, start, rec, laz.WriterOptions{Workers: workers})
			if err != nil {
				t.Fatal(err)
			}
			if err := w.Write(records); err != nil {
				t.Fatal(err)
			}
			if _, err := w.Close(); err != nil {
				t.Fatal(err)
			}
			files = append(files, m.data)
		}
		if !bytes.Equal(files[0], files[1]) {
			t.Fatal("the bytes depend on the number of workers")
		}
		r, err := laz.NewReader(bytes.NewReader(files[0]), int64(len(files[0])), start, uint64(n), rec, laz.DefaultReaderOptions())
		if err != nil {
			t.Fatal(err)
		}
		var got []byte
		for c, err := range r.All(t.Context()) {
			if err != nil {
				t.Fatal(err)
			}
			got = append(got, c.Records...)
		}
		if !bytes.Equal(got, records) {
			t.Fatal(difference(got, records, size))
		}
	})
}

// TestLayersAreIndependent decodes random selections of layers; fields asked
// for are as in the whole, the others as in the chunk's first point.
func TestLayersAreIndependent(t *testing.T) {
	fields := []struct {
		layer    laz.Layers
		at, size int
	}{
		{laz.LayerZ, 8, 4},
		{laz.LayerClassification, 16, 1},
		{laz.LayerIntensity, 12, 2},
		{laz.LayerScanAngle, 18, 2},
		{laz.LayerUserData, 17, 1},
		{laz.LayerPointSource, 20, 2},
		{laz.LayerTime, 22, 8},
		{laz.LayerRGB, 30, 6},
		{laz.LayerNIR, 36, 2},
		{laz.LayerWavePacket, 38, 29},
		{laz.LayerExtra(0), 67, 1},
		{laz.LayerExtra(1), 68, 1},
	}
	rapid.Check(t, func(t *rapid.T) {
		rec := record(10, 69)
		rec.ChunkSize = 100
		records := wild(rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 0)), 10, 69, 100)
		e, err := laz.NewEncoder(rec)
		if err != nil {
			t.Fatal(err)
		}
		chunk, err := e.Encode(nil, records)
		if err != nil {
			t.Fatal(err)
		}
		layers := laz.Layers(rapid.Uint32().Draw(t, "layers"))
		d, err := laz.NewDecoder(rec, layers)
		if err != nil {
			t.Fatal(err)
		}
		got, err := d.Decode(nil, chunk, 100)
		if err != nil {
			t.Fatal(err)
		}
		for i := range 100 {
			was, is := records[i*69:][:69], got[i*69:][:69]
			if !bytes.Equal(was[:8], is[:8]) || was[14] != is[14] || was[15]&0x30 != is[15]&0x30 {
				t.Fatalf("point %d: coordinates, returns or channel differ", i)
			}
			for _, f := range fields {
				want := records[f.at:][:f.size]
				if layers&f.layer != 0 {
					want = was[f.at:][:f.size]
				}
				if !bytes.Equal(is[f.at:][:f.size], want) {
					t.Fatalf("point %d, field at %d, layers %x: got % x, want % x", i, f.at, layers, is[f.at:][:f.size], want)
				}
			}
		}
	})
}

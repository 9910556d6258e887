package laz_test

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"

	"quoin/extract/las/laz"
)

// fuzzPoints is how many points are read of a file: a few bytes can stand for
// millions of equal ones.
const fuzzPoints = 1 << 19

// FuzzReader reads whatever claims to be a LAZ file, in order and by chunks.
func FuzzReader(f *testing.F) {
	for _, pattern := range []string{"pdrf*.laz", "hostile/*.laz"} {
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
		file, err := parseFile(data)
		if err != nil {
			return
		}
		r, err := file.reader(laz.ReaderOptions{Workers: 2, Layers: laz.AllLayers})
		if err != nil {
			return
		}
		points := 0
		for c, err := range r.All(t.Context()) {
			if points += len(c.Records) / file.length; err != nil || points > fuzzPoints {
				break
			}
		}
		for i := range min(r.Chunks(), 3) {
			if x, err := r.Chunk(t.Context(), i); err == nil && x.Points < fuzzPoints {
				_, _ = r.ReadChunk(t.Context(), i, nil)
			}
		}
	})
}

// FuzzRoundTrip takes any bytes for records, encodes and decodes them.
func FuzzRoundTrip(f *testing.F) {
	for format, size := range recordSizes {
		f.Add(byte(format), byte(0), scan(format, 4))
		f.Add(byte(format), byte(1), append(scan(format, 3), make([]byte, 3*size)...))
	}
	f.Fuzz(func(t *testing.T, format, extra byte, data []byte) {
		kind := int(format) % len(recordSizes)
		size := recordSizes[kind] + int(extra)%8
		records := data[:len(data)/size*size]
		if len(records) == 0 {
			return
		}
		rec := record(kind, size)
		e, err := laz.NewEncoder(rec)
		if err != nil {
			t.Fatal(err)
		}
		chunk, err := e.Encode(nil, records)
		if err != nil {
			t.Fatal(err)
		}
		d, err := laz.NewDecoder(rec, laz.AllLayers)
		if err != nil {
			t.Fatal(err)
		}
		got, err := d.Decode(nil, chunk, len(records)/size)
		if err != nil || !bytes.Equal(got, records) {
			t.Fatal(err, difference(got, records, size))
		}
	})
}

// FuzzParseRecord parses any LASzip record; one that is good is written as it
// was read.
func FuzzParseRecord(f *testing.F) {
	for format, size := range recordSizes {
		f.Add(record(format, size+format%3).Marshal())
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		rec, err := laz.ParseRecord(data)
		if err != nil {
			return
		}
		again, err := laz.ParseRecord(rec.Marshal())
		if err != nil || again.Format() != rec.Format() || again.RecordLength() != rec.RecordLength() {
			t.Fatalf("%+v became %+v, %v", rec, again, err)
		}
	})
}

package laz_test

import (
	"bytes"
	"context"
	"errors"
	"io"
	"runtime"
	"testing"
	"time"

	"quoin/extract/las/laz"
)

// small returns a file of 5000 points of format 6 in 50 chunks.
func small(t testing.TB) (data []byte, rec laz.Record, records []byte) {
	records = scan(6, 5000)
	rec = record(6, 30)
	rec.ChunkSize = 100
	return pack(t, rec, 0, records, 1), rec, records
}

func open(t testing.TB, file io.ReaderAt, size int, count uint64, rec laz.Record, workers int) *laz.Reader {
	t.Helper()
	r, err := laz.NewReader(file, int64(size), 0, count, rec, laz.ReaderOptions{Workers: workers, Layers: laz.AllLayers})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// TestCancel cancels reading between chunks, and leaves off in the middle.
func TestCancel(t *testing.T) {
	data, rec, _ := small(t)
	before := runtime.NumGoroutine()
	for _, workers := range []int{1, 4} {
		r := open(t, bytes.NewReader(data), len(data), 5000, rec, workers)
		ctx, cancel := context.WithCancel(t.Context())
		defer cancel()
		chunks := 0
		var last error
		for _, err := range r.All(ctx) {
			if last = err; err == nil {
				chunks++
			}
			if chunks == 3 {
				cancel()
			}
		}
		// Those that were under way may still come.
		if !errors.Is(last, context.Canceled) || chunks > 3+workers+1 {
			t.Errorf("%d workers: %d chunks, then %v", workers, chunks, last)
		}
		if _, err := r.ReadChunk(ctx, 0, nil); !errors.Is(err, context.Canceled) {
			t.Errorf("reading a chunk, the error is %v", err)
		}
		for range r.All(t.Context()) {
			break
		}
	}
	deadline := time.Now().Add(5 * time.Second)
	for runtime.NumGoroutine() > before {
		if time.Now().After(deadline) {
			t.Fatalf("%d goroutines are left of %d", runtime.NumGoroutine(), before)
		}
		time.Sleep(time.Millisecond)
	}
}

// gauge counts how often is read.
type gauge struct {
	*bytes.Reader
	reads int
}

func (g *gauge) ReadAt(b []byte, off int64) (int, error) {
	g.reads++
	return g.Reader.ReadAt(b, off)
}

// TestReadAhead takes one chunk, and looks how many were read by then.
func TestReadAhead(t *testing.T) {
	data, rec, _ := small(t)
	g := &gauge{Reader: bytes.NewReader(data)}
	r := open(t, g, len(data), 5000, rec, 1)
	opening := g.reads
	for range r.All(t.Context()) {
		break
	}
	if n := g.reads - opening; n != 1 {
		t.Errorf("for the first chunk %d are read", n)
	}
}

// TestManyReaders reads chunks by several goroutines at once.
func TestManyReaders(t *testing.T) {
	data, rec, records := small(t)
	r := open(t, bytes.NewReader(data), len(data), 5000, rec, 2)
	errs := make(chan error, 4)
	for g := range 4 {
		go func() {
			var buf []byte
			for i := range r.Chunks() {
				i = (i*7 + g*13) % r.Chunks()
				x, err := r.Chunk(t.Context(), i)
				if err == nil {
					buf, err = r.ReadChunk(t.Context(), i, buf[:0])
				}
				if err == nil && !bytes.Equal(buf, records[x.First*30:][:x.Points*30]) {
					err = errors.New("a chunk differs")
				}
				if err != nil {
					errs <- err
					return
				}
			}
			errs <- nil
		}()
	}
	for range 4 {
		if err := <-errs; err != nil {
			t.Error(err)
		}
	}
}

// TestNoAllocationAPoint decodes and encodes a chunk again and again.
func TestNoAllocationAPoint(t *testing.T) {
	for format, size := range recordSizes {
		rec := record(format, size)
		records := scan(format, 3000)
		e, err := laz.NewEncoder(rec)
		if err != nil {
			t.Fatal(err)
		}
		d, err := laz.NewDecoder(rec, laz.AllLayers)
		if err != nil {
			t.Fatal(err)
		}
		var chunk, got []byte
		if n := testing.AllocsPerRun(5, func() { chunk, err = e.Encode(chunk[:0], records) }); n > 0 || err != nil {
			t.Errorf("format %d: encoding allocates %v times, error %v", format, n, err)
		}
		if n := testing.AllocsPerRun(5, func() { got, err = d.Decode(got[:0], chunk, 3000) }); n > 0 || err != nil {
			t.Errorf("format %d: decoding allocates %v times, error %v", format, n, err)
		}
		if !bytes.Equal(got, records) {
			t.Errorf("format %d: points differ", format)
		}
	}
}

// TestLargeChunk reads a file that is a single chunk piece by piece.
func TestLargeChunk(t *testing.T) {
	const n = 5<<19 + 1000
	for _, format := range []int{0, 6} {
		size := recordSizes[format]
		records := bytes.Repeat(scan(format, n/64+1), 64)[:n*size]
		rec := record(format, size)
		rec.ChunkSize = 1<<32 - 2
		data := pack(t, rec, 0, records, 1)
		r := open(t, bytes.NewReader(data), len(data), n, rec, 2)
		at, pieces := 0, 0
		for c, err := range r.All(t.Context()) {
			if err != nil {
				t.Fatal(err)
			}
			if c.Index != 0 || c.First != uint64(at/size) || !bytes.Equal(c.Records, records[at:][:len(c.Records)]) {
				t.Fatalf("format %d: the piece at point %d differs", format, at/size)
			}
			at += len(c.Records)
			pieces++
		}
		if at != len(records) || pieces < 10 {
			t.Errorf("format %d: %d bytes of %d in %d pieces", format, at, len(records), pieces)
		}
	}
}

func TestOptionsAreChecked(t *testing.T) {
	data, rec, _ := small(t)
	file := bytes.NewReader(data)
	if _, err := laz.NewReader(file, int64(len(data)), 0, 5000, rec, laz.ReaderOptions{}); err == nil {
		t.Error("no workers can read")
	}
	if _, err := laz.NewReader(file, int64(len(data)), int64(len(data)), 5000, rec, laz.DefaultReaderOptions()); err == nil {
		t.Error("points can begin at the end")
	}
	for _, x := range []laz.Extent{
		{Points: 0, Offset: 8, Size: 200},
		{Points: 1, Offset: -8, Size: 200},
		{Points: 1, Offset: 8, Size: 3},
		{Points: 1, Offset: int64(len(data)) - 100, Size: 200},
		{Points: 1, Offset: 8, Size: 1 << 62},
	} {
		if _, err := laz.NewChunkReader(file, int64(len(data)), rec, []laz.Extent{x}, laz.DefaultReaderOptions()); err == nil {
			t.Errorf("chunk %+v can be read", x)
		}
	}
	for _, length := range []int{19, 20 + laz.MaxExtraBytes + 1} {
		if _, err := laz.NewRecord(0, length); err == nil {
			t.Errorf("records of format 0 can be %d bytes long", length)
		}
	}
	if _, err := laz.NewRecord(11, 100); err == nil {
		t.Error("there is a format 11")
	}
}

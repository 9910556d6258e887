package laz_test

import (
	"bytes"
	"errors"
	"strings"
	"testing"

	"quoin/extract/las/laz"
)

// memory is a file in memory.
type memory struct{ data []byte }

func (m *memory) WriteAt(b []byte, off int64) (int, error) {
	if n := int(off) + len(b); n > len(m.data) {
		m.data = append(m.data, make([]byte, n-len(m.data))...)
	}
	return copy(m.data[off:], b), nil
}

// pack returns points as the point section of a LAZ file that begins at start,
// with start bytes of zeros before it. Chunks end after the given numbers of
// points, if the record has them variable.
func pack(t testing.TB, rec laz.Record, start int64, points []byte, workers int, chunks ...uint64) []byte {
	t.Helper()
	var m memory
	w, err := laz.NewWriter(&m, start, rec, laz.WriterOptions{Workers: workers})
	if err != nil {
		t.Fatal(err)
	}
	for _, n := range chunks {
		length := int(n) * rec.RecordLength()
		if err := w.Write(points[:length]); err != nil {
			t.Fatal(err)
		}
		if err := w.EndChunk(); err != nil {
			t.Fatal(err)
		}
		points = points[length:]
	}
	if err := w.Write(points); err != nil {
		t.Fatal(err)
	}
	end, err := w.Close()
	if err != nil {
		t.Fatal(err)
	}
	if int64(len(m.data)) != end {
		t.Errorf("Close says the end is at %d, and it is at %d", end, len(m.data))
	}
	return m.data
}

// TestEncodeVectors encodes what the vectors were made of, and compares the
// bytes with those that the reference codec wrote, by one worker and by three.
func TestEncodeVectors(t *testing.T) {
	for _, name := range names(t) {
		if strings.Contains(name, "-notable") || strings.Contains(name, "-pointwise") {
			continue // cut by hand, and not written
		}
		t.Run(name, func(t *testing.T) {
			f, points := readFile(t, name), want(t, name)
			rec, err := f.record()
			if err != nil {
				t.Fatal(err)
			}
			r, err := f.reader(laz.DefaultReaderOptions())
			if err != nil {
				t.Fatal(err)
			}
			var chunks []uint64
			if rec.ChunkSize == laz.VariableChunks {
				for i := range r.Chunks() {
					x, err := r.Chunk(t.Context(), i)
					if err != nil {
						t.Fatal(err)
					}
					chunks = append(chunks, x.Points)
				}
			}
			for _, workers := range []int{1, 3} {
				got := pack(t, rec, f.start, points, workers, chunks...)[f.start:]
				want := f.data[f.start:][:len(got)]
				if strings.Contains(name, "stream") {
					// There the position stands behind the table.
					got, want = got[8:], want[8:]
				}
				if !bytes.Equal(got, want) {
					t.Fatalf("%d workers: %s", workers, difference(got, want, len(got)))
				}
			}
		})
	}
}

// TestRecordsAreAsPublished compares the record that goes with a format with
// the one of the vectors, the version of the writer apart.
func TestRecordsAreAsPublished(t *testing.T) {
	for _, name := range []string{
		"pdrf00", "pdrf01", "pdrf02", "pdrf03", "pdrf04", "pdrf05", "pdrf06", "pdrf07", "pdrf08", "pdrf09", "pdrf10",
		"pdrf00-eb4", "pdrf03-eb4", "pdrf06-mc-v3", "pdrf10-mc-v3",
	} {
		f := readFile(t, name+".laz")
		want := bytes.Clone(f.vlrs["laszip encoded/22204"])
		parsed, err := laz.ParseRecord(want)
		if err != nil {
			t.Fatal(err)
		}
		if got := parsed.Marshal(); !bytes.Equal(got, want) {
			t.Errorf("%s: read and written, it is % x, was % x", name, got, want)
		}
		rec, err := laz.NewRecord(f.format, f.length)
		if err != nil {
			t.Fatal(err)
		}
		rec.ChunkSize, rec.Major, rec.Minor, rec.Revision = parsed.ChunkSize, parsed.Major, parsed.Minor, parsed.Revision
		if got := rec.Marshal(); !bytes.Equal(got, want) {
			t.Errorf("%s: got % x, want % x", name, got, want)
		}
	}
}

// failing is a file that can't be written beyond some bytes.
type failing struct{ room int64 }

var errFull = errors.New("no room")

func (f failing) WriteAt(b []byte, off int64) (int, error) {
	if off+int64(len(b)) > f.room {
		return 0, errFull
	}
	return len(b), nil
}

func TestWriteErrors(t *testing.T) {
	points := readFile(t, "pdrf01.las").points()
	rec, err := laz.NewRecord(1, 28)
	if err != nil {
		t.Fatal(err)
	}
	rec.ChunkSize = 10
	for _, room := range []int64{0, 8, 500, 1000} {
		w, err := laz.NewWriter(failing{room}, 0, rec, laz.WriterOptions{Workers: 2})
		if room < 8 {
			if !errors.Is(err, errFull) {
				t.Errorf("room for %d bytes: error %v", room, err)
			}
			continue
		}
		if err != nil {
			t.Fatal(err)
		}
		// The error may come with a later chunk than its own.
		_ = w.Write(points)
		if _, err := w.Close(); !errors.Is(err, errFull) {
			t.Errorf("room for %d bytes: error %v", room, err)
		}
		if err := w.Write(points); err == nil {
			t.Error("can be written after an error")
		}
	}
	w, err := laz.NewWriter(&memory{}, 0, rec, laz.WriterOptions{Workers: 1})
	if err != nil {
		t.Fatal(err)
	}
	if err := w.Write(points[:27]); err == nil {
		t.Error("a piece of a record can be written")
	}
	if err := w.EndChunk(); err == nil {
		t.Error("chunks of fixed size can be ended")
	}
	w.Abort()
	if err := w.Write(points); err == nil {
		t.Error("an aborted writer can be written to")
	}
}

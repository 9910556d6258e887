package laz

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
	"runtime"
)

// WriterOptions govern a Writer.
type WriterOptions struct {
	// Workers is the number of chunks that are encoded at the same time, at
	// least 1. With 1 no goroutines are started. The bytes written don't
	// depend on it.
	Workers int
}

// DefaultWriterOptions returns options to encode on all cores.
func DefaultWriterOptions() WriterOptions { return WriterOptions{Workers: runtime.GOMAXPROCS(0)} }

// Writer writes the points of a LAZ file, all that stands between its variable
// length records and the extended ones. It keeps up to one chunk more than
// there are workers in memory, and the places of all chunks. Its methods must
// not be called by two goroutines at once.
type Writer struct {
	file    io.WriterAt
	rec     Record
	plan    plan
	start   int64
	list    []Extent
	next    Extent
	filling *job
	crew    *crew    // nil with one worker
	encoder *Encoder // then
	err     error
	closed  bool
}

// NewWriter returns a writer of points to a file, from start on, which is the
// header's offset to point data. The record says how they are compressed;
// compressor 1 is not written. The caller must end with Close or Abort.
func NewWriter(file io.WriterAt, start int64, rec Record, o WriterOptions) (*Writer, error) {
	p, err := rec.plan()
	switch {
	case err != nil:
		return nil, err
	case rec.Compressor != PointwiseChunked && rec.Compressor != LayeredChunked:
		return nil, fmt.Errorf("laz: points can't be written by compressor %d", rec.Compressor)
	case rec.ChunkSize == 0:
		return nil, errors.New("laz: chunks can't have no points")
	case o.Workers < 1:
		return nil, fmt.Errorf("laz: %d workers can't write", o.Workers)
	}
	w := &Writer{file: file, rec: rec, plan: p, start: start, next: Extent{Offset: start + positionSize}}
	// Until the chunk table is written, its position says that it wasn't.
	if err := w.setPosition(start); err != nil {
		return nil, fmt.Errorf("laz: write: %w", err)
	}
	if o.Workers == 1 {
		w.encoder, err = NewEncoder(rec)
		w.filling = &job{}
		return w, err
	}
	w.crew = newCrew(o.Workers, func() func(*job) {
		e, _ := NewEncoder(rec) // the record was checked
		return func(j *job) { j.out, j.err = e.Encode(j.out, j.in) }
	})
	w.filling = w.crew.blank()
	return w, nil
}

func (w *Writer) setPosition(p int64) error {
	_, err := w.file.WriteAt(binary.LittleEndian.AppendUint64(nil, uint64(p)), w.start)
	return err
}

// Write adds point records, which are uncompressed, whole, and back to back.
// They aren't kept. After an error nothing more can be written.
func (w *Writer) Write(records []byte) error {
	if w.err != nil {
		return w.err
	}
	if w.closed {
		return errors.New("laz: write: the writer is closed")
	}
	if len(records)%w.plan.size != 0 {
		return fmt.Errorf("laz: write: %d bytes are no whole number of records of %d bytes", len(records), w.plan.size)
	}
	for len(records) > 0 {
		room := len(records)
		if w.rec.ChunkSize != VariableChunks {
			room = int(w.rec.ChunkSize)*w.plan.size - len(w.filling.in)
		}
		n := min(room, len(records))
		w.filling.in = append(w.filling.in, records[:n]...)
		records = records[n:]
		if n == room && w.rec.ChunkSize != VariableChunks {
			if err := w.endChunk(); err != nil {
				return err
			}
		}
	}
	return nil
}

// EndChunk ends a chunk of a file of variable chunks; Write begins the next
// one. A chunk without points is none.
func (w *Writer) EndChunk() error {
	if w.rec.ChunkSize != VariableChunks {
		return fmt.Errorf("laz: write: chunks of %d points can't be ended early", w.rec.ChunkSize)
	}
	return w.endChunk()
}

// endChunk hands the points gathered on to be encoded.
func (w *Writer) endChunk() error {
	if w.err != nil || len(w.filling.in) == 0 {
		return w.err
	}
	if w.crew == nil {
		j := w.filling
		j.out, j.err = w.encoder.Encode(j.out[:0], j.in)
		w.put(j)
		j.in = j.in[:0]
		return w.err
	}
	w.crew.give(w.filling)
	if !w.crew.room() {
		w.takeIn()
	}
	w.filling = w.crew.blank()
	return w.err
}

// takeIn writes the chunk that is next in order.
func (w *Writer) takeIn() {
	j := w.crew.take()
	w.put(j)
	w.crew.putBack(j)
}

// put writes an encoded chunk.
func (w *Writer) put(j *job) {
	if w.err != nil {
		return
	}
	err := j.err
	if err == nil && uint64(len(j.out)) > math.MaxUint32 {
		err = fmt.Errorf("its %d bytes are too many", len(j.out))
	}
	if err == nil {
		_, err = w.file.WriteAt(j.out, w.next.Offset)
	}
	if err != nil {
		w.err = &ChunkError{Chunk: len(w.list), Point: w.next.First, Err: err}
		return
	}
	w.next.Points, w.next.Size = uint64(len(j.in)/w.plan.size), int64(len(j.out))
	w.list = append(w.list, w.next)
	w.next.First += w.next.Points
	w.next.Offset += w.next.Size
}

// Close writes what is left and the chunk table. It returns where the points'
// part of the file ends, and extended records may begin.
func (w *Writer) Close() (end int64, err error) {
	if w.closed {
		return w.next.Offset, w.err
	}
	_ = w.endChunk() // w.err has it
	w.Abort()
	if w.err != nil {
		return 0, w.err
	}
	if uint64(len(w.list)) > math.MaxUint32 {
		w.err = fmt.Errorf("laz: write: %d chunks are too many", len(w.list))
		return 0, w.err
	}
	table := appendTable(nil, w.list, w.rec.ChunkSize == VariableChunks)
	position := w.next.Offset
	if _, w.err = w.file.WriteAt(table, position); w.err == nil {
		w.err = w.setPosition(position)
	}
	if w.err != nil {
		w.err = fmt.Errorf("laz: write chunk table: %w", w.err)
		return 0, w.err
	}
	w.next.Offset += int64(len(table))
	return w.next.Offset, nil
}

// Abort ends all work, whether or not anything went wrong; the file is then
// good for nothing. After Close it does nothing.
func (w *Writer) Abort() {
	if w.closed {
		return
	}
	w.closed = true
	if w.crew != nil {
		for len(w.crew.queue) > 0 {
			w.takeIn()
		}
		w.crew.dismiss()
	}
}

// Chunks returns the places of the chunks written. After Close it has all.
func (w *Writer) Chunks() []Extent { return w.list }

package laz_test

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"quoin/extract/las/laz"
)

const vectors = "../../../testdata/laz"

// A lasFile is what these tests need of a LAS or LAZ file's header.
type lasFile struct {
	data   []byte
	format int
	length int
	count  uint64
	start  int64
	vlrs   map[string][]byte // by user and record id
}

func parseFile(data []byte) (*lasFile, error) {
	le := binary.LittleEndian
	if len(data) < 227 || string(data[:4]) != "LASF" {
		return nil, errors.New("no LAS file")
	}
	f := &lasFile{
		data: data, format: int(data[104] & 0x3f), length: int(le.Uint16(data[105:])),
		count: uint64(le.Uint32(data[107:])), start: int64(le.Uint32(data[96:])), vlrs: map[string][]byte{},
	}
	if data[25] >= 4 && len(data) >= 375 {
		if n := le.Uint64(data[247:]); n != 0 {
			f.count = n
		}
	}
	if f.start > int64(len(data)) {
		return nil, errors.New("points begin behind the file")
	}
	at := int(le.Uint16(data[94:]))
	for range le.Uint32(data[100:]) {
		if at+54 > int(f.start) {
			return nil, errors.New("more records than room")
		}
		n := int(le.Uint16(data[at+20:]))
		if at+54+n > int(f.start) {
			return nil, errors.New("a record is cut off")
		}
		user, _, _ := bytes.Cut(data[at+2:at+18], []byte{0})
		key := fmt.Sprintf("%s/%d", user, le.Uint16(data[at+18:]))
		if _, has := f.vlrs[key]; !has {
			f.vlrs[key] = data[at+54 : at+54+n]
		}
		at += 54 + n
	}
	return f, nil
}

func readFile(t testing.TB, name string) *lasFile {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(vectors, name))
	if err != nil {
		t.Fatal(err)
	}
	f, err := parseFile(data)
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	return f
}

// record returns the file's LASzip record, checked against the header.
func (f *lasFile) record() (laz.Record, error) {
	payload, ok := f.vlrs["laszip encoded/22204"]
	if !ok {
		return laz.Record{}, errors.New("no LASzip record")
	}
	rec, err := laz.ParseRecord(payload)
	if err != nil {
		return rec, err
	}
	if rec.RecordLength() != f.length || rec.Format() != f.format {
		return rec, fmt.Errorf("record is of format %d and length %d, header of %d and %d",
			rec.Format(), rec.RecordLength(), f.format, f.length)
	}
	return rec, nil
}

func (f *lasFile) reader(o laz.ReaderOptions) (*laz.Reader, error) {
	rec, err := f.record()
	if err != nil {
		return nil, err
	}
	return laz.NewReader(bytes.NewReader(f.data), int64(len(f.data)), f.start, f.count, rec, o)
}

// points returns the records of a LAS file.
func (f *lasFile) points() []byte {
	return f.data[f.start:][:int(f.count)*f.length]
}

// all returns all points of a reader and the error that ended them.
func all(t testing.TB, r *laz.Reader) ([]byte, error) {
	var got []byte
	for c, err := range r.All(t.Context()) {
		if err != nil {
			return got, err
		}
		if n := len(got) / r.Record().RecordLength(); uint64(n) != c.First {
			t.Errorf("chunk %d says that %d points come before it, and %d did", c.Index, c.First, n)
		}
		got = append(got, c.Records...)
	}
	return got, nil
}

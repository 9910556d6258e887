package laz_test

import (
	"bytes"
	"context"
	"encoding/binary"
	"fmt"

	"quoin/extract/las/laz"
)

// twoPoints returns two records of point format 0.
func twoPoints() []byte {
	var b []byte
	for _, p := range [][3]uint32{{1000, 2000, 300}, {1010, 1995, 301}} {
		for _, v := range p {
			b = binary.LittleEndian.AppendUint32(b, v)
		}
		b = append(b, 50, 0, 0x09, 2, 0, 0, 7, 0)
	}
	return b
}

// Points are written, and read again.
func Example() {
	rec, err := laz.NewRecord(0, 20)
	if err != nil {
		panic(err)
	}
	// In a file they begin where the header says, behind its records, one of
	// which holds rec.Marshal().
	var file memory
	const start = 0
	w, err := laz.NewWriter(&file, start, rec, laz.DefaultWriterOptions())
	if err != nil {
		panic(err)
	}
	if err := w.Write(twoPoints()); err != nil {
		panic(err)
	}
	end, err := w.Close()
	if err != nil {
		panic(err)
	}
	r, err := laz.NewReader(bytes.NewReader(file.data), end, start, 2, rec, laz.DefaultReaderOptions())
	if err != nil {
		panic(err)
	}
	for chunk, err := range r.All(context.Background()) {
		if err != nil {
			panic(err)
		}
		for at := 0; at < len(chunk.Records); at += rec.RecordLength() {
			fmt.Println(int32(binary.LittleEndian.Uint32(chunk.Records[at:])))
		}
	}
	// Output:
	// 1000
	// 1010
}

// Of layered formats, only the fields that are needed are decoded.
func ExampleLayers() {
	rec, err := laz.NewRecord(7, 36)
	if err != nil {
		panic(err)
	}
	var file memory
	w, err := laz.NewWriter(&file, 0, rec, laz.DefaultWriterOptions())
	if err != nil {
		panic(err)
	}
	points := make([]byte, 2*36)
	points[36], points[36+8], points[36+30] = 1, 2, 3 // x, z and red of the second one
	if err := w.Write(points); err != nil {
		panic(err)
	}
	size, err := w.Close()
	if err != nil {
		panic(err)
	}
	o := laz.ReaderOptions{Workers: 1, Layers: laz.LayerZ | laz.LayerClassification}
	r, err := laz.NewReader(bytes.NewReader(file.data), size, 0, 2, rec, o)
	if err != nil {
		panic(err)
	}
	got, err := r.ReadChunk(context.Background(), 0, nil)
	if err != nil {
		panic(err)
	}
	fmt.Println("x", got[36], "z", got[36+8], "red", got[36+30])
	// Output: x 1 z 2 red 0
}

// A record tells of the points' format.
func ExampleParseRecord() {
	rec, err := laz.NewRecord(6, 34)
	if err != nil {
		panic(err)
	}
	rec, err = laz.ParseRecord(rec.Marshal())
	if err != nil {
		panic(err)
	}
	fmt.Println("format", rec.Format(), "in", rec.RecordLength(), "bytes")
	_, err = laz.ParseRecord([]byte("no record"))
	fmt.Println(err)
	// Output:
	// format 6 in 34 bytes
	// laz: the LASzip record has 9 bytes, at least 34 are needed
}

// Containers that keep their own list of chunks code them one by one.
func ExampleEncoder() {
	rec, err := laz.NewRecord(0, 20)
	if err != nil {
		panic(err)
	}
	e, err := laz.NewEncoder(rec)
	if err != nil {
		panic(err)
	}
	chunk, err := e.Encode(nil, twoPoints())
	if err != nil {
		panic(err)
	}
	d, err := laz.NewDecoder(rec, laz.AllLayers)
	if err != nil {
		panic(err)
	}
	points, err := d.Decode(nil, chunk, 2)
	fmt.Println(len(points), "bytes from", len(chunk), err)
	// Output: 40 bytes from 29 <nil>
}

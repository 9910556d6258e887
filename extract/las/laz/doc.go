// Package laz reads and writes the compressed point records of LAZ files, in
// pure Go and with nothing but the standard library.
//
// It decodes point data record formats 0 to 10 in all codings in use: the
// pointwise one, chunked or not, in item versions 1 and 2, and the layered one
// in versions 3 and 4. It encodes the same formats, chunked. What it hands out
// and takes are plain LAS point records, back to back, byte for byte; headers
// and variable length records are the caller's.
//
// A file's LASzip record tells how its points are coded:
//
//	rec, err := laz.ParseRecord(payload)           // of the VLR "laszip encoded", 22204
//	r, err := laz.NewReader(f, size, start, count, rec, laz.DefaultReaderOptions())
//	for chunk, err := range r.All(ctx) { ... }     // in order, decoded on all cores
//
// A Reader also reads single chunks in any order, and of layered formats only
// the fields asked for. NewWriter goes the other way; what it writes doesn't
// depend on the number of workers. Decoder and Encoder work on one chunk at a
// time, for containers that keep their own list of chunks.
//
// Files damaged or made to do harm give errors, and take no more memory than
// their size justifies. See docs/laz.md for the format.
package laz

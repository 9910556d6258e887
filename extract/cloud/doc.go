// Package cloud holds points: column batches as they come from a file, and
// the block they are packed into, indexed and in canonical order.
//
// It knows no file format. Lengths inside a block are metres about a local
// origin; batches are in the units of the file's coordinate reference system.
package cloud

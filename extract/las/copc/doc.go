// Package copc reads and writes COPC 1.0 files: LAZ files whose chunks are the
// nodes of an octree, so that a window or a coarse view of a cloud can be read
// without the rest.
//
// A node is a cube; its eight children are its octants, with points twice as
// close. A point is in one node only: all nodes together are the cloud, and those
// down to some level are a thinned one. A COPC file is also an ordinary LAZ
// file of point format 6, 7 or 8, which package laz reads in full.
//
//	r, err := copc.NewReader(f, size)
//	for part, err := range r.Read(ctx, copc.Query{Box: window, Spacing: 0.5}) { ... }
//
// A Writer takes points in any order and builds the tree. Points handed in and
// out are LAS point records, back to back.
//
// COPC 1.0 specification, https://copc.io, 2021.
package copc

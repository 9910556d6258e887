// Package las reads and writes LAS point-cloud files, versions 1.0 to 1.4
// and point formats 0 to 10, and LAZ through package laz.
//
// Open looks at a file's header, refuses what cannot be right, and gives a
// File: a cloud.Source of column batches, and raw records for whoever copies
// points without a loss. Create gives a Writer. Nothing here needs cgo; a
// coordinate reference system that is named only by its EPSG code is completed
// by package vector/crs.
//
// Facts of the format are those of the ASPRS LAS Specification 1.4 R15.
package las

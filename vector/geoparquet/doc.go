// Package geoparquet writes and reads layers as GeoParquet files.
//
// The files are Parquet with geometries in well-known binary and the metadata
// of GeoParquet 1.1 (OGC, 2024): the CRS as PROJJSON, a bounding box for each
// feature as a column of its own, zstd compression.
package geoparquet

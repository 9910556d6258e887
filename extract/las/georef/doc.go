// Package georef reads and writes what a LAS file says of its coordinate
// reference system (CRS): OGC well-known text and GeoTIFF keys.
//
// It works without a database of CRSs: a code stays a code, and units come
// from the records alone. Package vector/crs looks up the rest.
package georef

// Record ids under the user id LASF_Projection (ASPRS LAS 1.4 R15, 3.1 to
// 3.3): OGC WKT, and the GeoTIFF key directory with the doubles and the text
// that it points into.
const (
	RecordWKT     = 2112
	RecordKeys    = 34735
	RecordDoubles = 34736
	RecordASCII   = 34737
)

// Package geojson writes footprints as GeoJSON (RFC 7946), and reads polygons
// from any GeoJSON file.
//
// A GeoJSON file proper holds WGS 84 longitude and latitude. The same content
// in the coordinates of the CRS is a variant for those who agree on it (section
// 4 of the RFC); see WriteProjected.
package geojson

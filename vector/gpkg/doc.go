// Package gpkg writes deliveries as OGC GeoPackage 1.3 files, and reads
// polygons from any GeoPackage.
//
// Files are written with the R-tree, schema and metadata extensions, and with
// the R-tree triggers of version 1.3. Coordinates are x = east, y = north in
// the CRS of the delivery, whatever the axis order of its definition (OGC
// 12-128r17, section 2.1.3).
package gpkg

// Package vector is the footprint model: building outlines, their corners,
// the checks made on them, and the coordinate reference system they are in.
//
// Everything here is in the units of the delivered coordinate reference
// system (CRS): coordinates are x = east, y = north, whatever the axis order
// of the CRS's definition. The package knows nothing of how outlines came to
// be; the packages below it read, write, check and score them.
package vector

// Package gdal reads and writes rasters, reads vector layers, and converts
// between vector formats with the GDAL library.
//
// It is our own thin binding: windows of any size and resolution go into
// buffers of the caller, views in another CRS are warped window by window, and
// what GDAL says of an error comes back as an *Error. Images of any size are
// read in bounded memory.
//
// A Raster may be used by one goroutine at a time; goroutines that work at
// once open one each.
//
// Nothing is fetched from a network and no program is run: of GDAL's virtual
// file systems only those that look into memory and into a part of a file are
// left in place, drivers other than those for local files are taken out, names
// must be those of files that exist, and Python in virtual rasters stays off.
//
// Built with the tag nogdal, every call returns ErrNotBuilt.
// A GeoPackage must not be open through another SQLite in the same process
// while GDAL has it open: the two would drop each other's file locks.
package gdal

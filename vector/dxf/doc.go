// Package dxf draws a delivery for drafters, as a DXF file (ASCII, the release
// called AC1015, which programs of the last 25 years read) with a corner list
// beside it.
//
// Outlines are closed polylines, never hatches, on layers named by what they
// follow. The drawing is in the CRS's own coordinates and unit; its view opens
// on the buildings, which lie far from the origin.
package dxf

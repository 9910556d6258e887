// Package plate draws plates: sheets on which one building, one surveyed corner,
// or the whole block is seen over an image, with what was measured of it. A plate
// is one SVG element that refers to nothing outside of the file it is in.
//
// Coordinates are those of the CRS; north on a plate is grid north. The same
// content gives the same bytes.
package plate

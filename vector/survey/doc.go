// Package survey brings surveyed points to a block: it reads them from text,
// GeoPackage or GeoJSON, takes them to the CRS and the units of the block, and
// names the mix-up when they do not lie where the block is: a wrong unit, the
// other foot, axes swapped, a wrong zone, ground for grid coordinates, heights
// of another kind, a pole height left in.
package survey

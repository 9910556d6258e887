// Package layout lays out the simulated blocks: land, roads, buildings, plants
// and clutter, kind by kind, from a seed.
//
// Kinds lists them; Lay gives a Site, which is not flown yet and knows no CRS.
// Lengths are metres about the block's middle: x east, y north, z up.
package layout

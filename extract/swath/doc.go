// Package swath tells what a cloud is worth before anything is taken from it:
// how dense and how noisy it is, where the sensor was when it measured each
// point, and how well the swaths agree with one another.
//
// Everything is derived from the points alone; no trajectory file is asked
// for. Results depend on the set of points only: not on their order, not on
// the number of workers, not on where the block's origin lies. Patches of
// ground that are looked at are anchored on the origin of the CRS and chosen
// by a hash of their number; what is measured on them goes into integer
// histograms, which merge in any order.
//
// The method is described in docs/swath.md.
package swath

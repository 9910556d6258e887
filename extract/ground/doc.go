// Package ground finds the terrain under a cloud: the surface, where it is
// only interpolated, the height of every point above it, and which points lie
// on it.
//
// The way: lowest points of cells, freed of low outliers (lowest.go,
// outlier.go); regions that stand above all that surrounds them (raised.go);
// a triangulated surface grown from seeds no raised region can hold
// (delaunay.go, densify.go); a progressive opening of what is left above it
// (opening.go); a robust refit in the fine cells (refit.go). docs/ground.md
// gives the reasons and the measured errors.
//
// Lengths are metres. All functions are pure: they change no argument, may be
// called at the same time, and their results do not depend on the order of
// points.
package ground

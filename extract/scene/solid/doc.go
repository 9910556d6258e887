// Package solid holds the simulated world's geometry and casts rays at it.
//
// Everything that stands on the terrain is a Body: the common part of half
// spaces and at most one quadric, opaque or filled with foliage. A ray meets a
// convex body in one interval, so every hit is closed form; what is not convex
// is a union of bodies, whose inner faces no ray from outside can see. The
// terrain is a triangulated grid. A World keeps both, and a bounding volume
// hierarchy over the bodies that is asked once a pulse, with the whole beam,
// rather than once for each ray in it.
//
// Lengths are metres about the block's local origin: x east, y north, z up.
package solid

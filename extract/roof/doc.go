// Package roof finds what is a roof, which roofs make one building, and what
// else stands above the ground.
//
// The work has three steps, each a pure function that may run on many cores:
//
//   - Describe fits a local surface about every point above the ground and
//     says which points are roof-like; a point's description depends only on
//     the points within a small radius.
//   - Mask and Gather join cells with roof-like points into clusters. A
//     cluster is found whole whatever the units of work were, and no two
//     clusters claim the same point.
//   - Segment takes one cluster apart: smooth surfaces, the buildings they
//     make, the points at their edges, and what is held back and why.
//
// All lengths are metres in the frame of the block. Thresholds follow from
// the measured spacing and noise. docs/roof.md tells the method and what each
// reason means.
package roof

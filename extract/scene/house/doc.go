// Package house builds the simulated buildings: walls, roofs with their eaves
// and gutters, what stands on them, and the truth about their outlines.
//
// A building is made of sections. A section is a convex wall plan under a roof
// that is the lowest of a few planes; sections overlap, and what is seen is the
// highest surface, so valleys and hips come by themselves. The roof edge is the
// union of the sections' outlines seen from above, eaves and gutter lip
// included.
//
// Elevations and lengths are metres in the block's local frame; plans run
// counter-clockwise.
package house

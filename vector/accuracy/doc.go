// Package accuracy scores a layer of building outlines against a reference.
//
// Score compares the delivered footprints of one block with the reference and
// returns what was measured building by building, corner by corner, side by
// side. Summarise pools any number of blocks into the figures of a table. What
// each figure means, and by which rule things are counted, is told at its
// field; docs/accuracy.md says the same for readers of the tables.
//
// Coordinates are plane and in metres. Nothing here knows how outlines came
// to be.
package accuracy

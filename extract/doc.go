// Package extract is the pipeline from point clouds to delivered footprints:
// it reads the files as one block, measures it, runs the stages, checks the
// result against surveyed control, and writes the layers.
//
// The stages (swath, ground, roof, outline) know nothing of each other and
// meet only here. Work is scheduled in globally anchored units of the block
// and building by building; each piece is a pure function of parameters,
// measurements and points, so that the result does not depend on the number
// of workers.
package extract

// Package scene simulates blocks: invented places with buildings, plants and
// clutter, flown over by a laser scanner, with the truth about them.
//
// Compose lays a block out from a Spec, and Write flies it and leaves
//
//	DIR/cloud/line_NN.las    the points, a file a flight line
//	DIR/control.csv          surveyed roof corners, some with a blunder
//	DIR/truth/               what is really there; nothing else reads it
//
// The same Spec gives the same bytes, whatever the number of workers. The
// package shares nothing with extraction but the format writer and the units,
// so that neither can make up for the other's mistakes. docs/scene.md has the
// models and the form of the truth.
package scene

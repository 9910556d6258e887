// Package outline finds the outline of a building from observations of which side of its roof edge each pulse passed.
//
// The unknowns are the directions of the walls and one offset for each edge of every ring; all are fitted at once, so that the
// likelihood "which side is each point on, blurred by its noise" is greatest. Corners are where the edges meet. The package knows
// nothing of files, ground or roofs: whoever calls it says for each pulse whether it met the roof, passed it, or both.
//
// The model, its gradient, the covariance and the choice of the number of edges are explained in docs/outline.md.
package outline

// Package assess works out what checks against surveyed points say about a
// delivery: figures by published standards, bias, blunders, distribution,
// trend, whether the stated uncertainties hold, and the error of corners in the
// CRS. It also adjusts a delivery to control points, where that is asked for.
//
// Lengths are in the CRS's units, those of options in metres. docs/control.md
// has the rules with their sources.
package assess

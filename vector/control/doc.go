// Package control compares the corners of building footprints with surveyed
// points: it reads the points, matches them to corners one to one, flags
// blunders, and computes the usual accuracy figures.
//
// Points and corners are in the same CRS and units; differences are delivered
// minus surveyed. docs/control.md has the rules with their sources.
package control

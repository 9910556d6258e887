// Package yard makes the things of a simulated block that are no buildings:
// vegetation, vehicles, fences, wires, bridges and the like.
//
// Each maker returns a Thing: its bodies for the rays and what truth says of
// it. Elevations and lengths are metres in the block's local frame.
package yard

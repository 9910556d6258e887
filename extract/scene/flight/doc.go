// Package flight flies a laser scanner over a simulated world.
//
// A Scanner says what the instrument is, MakePlan how it is flown to reach a
// density, and Fly casts its pulses and streams the returns of one flight line
// after another. The instrument fires along its true pose; the point is
// computed from the pose that the navigation believes, which is how errors
// enter a real cloud: time-correlated attitude and position errors, an offset
// for each swath, noise in range and in the scan angle, and a footprint that is
// not a point.
//
// Lengths are metres in the block's local frame, angles radians unless a name
// says degrees, times seconds.
package flight

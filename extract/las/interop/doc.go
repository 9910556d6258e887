// Package interop holds the tests that compare what packages las, laz and copc
// write, and how fast they read, with decoders of others: the npm packages
// laz-perf 0.0.7 (WebAssembly) and copc 0.0.8, under node.
//
// The tests install the packages once, into the user's cache folder, and are
// skipped only where there is no node. See docs/laz.md.
package interop

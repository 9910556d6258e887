// Package topology keeps outlines valid by OGC Simple Features and lets
// neighbours share their corners.
//
// It takes and gives plane polygons of any unit and changes none of its
// arguments. Validity is judged by simplefeatures, in pure Go, about a local
// origin, so that coordinates of millions of units lose nothing.
//
// Snapping and set operations share one noding: outlines are brought onto a
// grid, on whole numbers every predicate is exact, and every edge is led
// through each node that it passes. After that, edges meet at nodes only, and
// what bounds a result can be read off the graph without a tolerance.
package topology

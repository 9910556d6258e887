// Package topology keeps outlines valid by OGC Simple Features and lets
// neighbours share their corners.
//
// It takes and gives plane polygons of any unit and changes none of its
// arguments. Sums and products are formed about a local origin, so that
// coordinates of millions of units lose nothing. Set operations and validity
// are those of simplefeatures, in pure Go; snapping is the package's own.
package topology

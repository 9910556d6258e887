// Package imagecheck measures how an orthophoto and a layer of building edges
// lie to each other, and says which of the two is wrong where they disagree.
//
// Across each edge the image is sampled in profiles, and the step of brightness
// or colour nearest to the edge is located to a fraction of a pixel. From the
// offsets of all edges follow shift, rotation, scale, size bias and lean of the
// image, each with its standard error.
//
// All results say where the image lies beside the layer: a shift of +5 cm east
// means that the image shows things 5 cm east of where the layer has them.
// Lengths are metres on the grid of the layer's CRS unless said otherwise.
//
// The package reads images through an interface and knows no file format. See
// docs/imagecheck.md for the model and its limits.
package imagecheck

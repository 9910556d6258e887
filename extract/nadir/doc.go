// Package nadir draws the cloud as it is seen from straight above: the highest
// point of each pixel in its colour, or in its intensity and the light on the
// relief where the cloud has no colour. Small gaps between points are closed,
// larger ones stay transparent.
//
// The image is made tile by tile in memory that does not grow with it, and
// depends on the points alone, not on their order.
package nadir

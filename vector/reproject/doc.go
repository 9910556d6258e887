// Package reproject takes a whole delivery to another CRS: outlines, corners
// with their covariances, checks with their differences, and units.
package reproject

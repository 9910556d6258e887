// Package crs looks coordinate reference systems (CRSs) up and transforms
// between them, with PROJ and its copy of the EPSG dataset.
//
// Coordinates are x = east, y = north, or longitude, latitude in degrees, in
// and out, whatever axis order a definition has. Heights are not transformed.
// What one call does is independent of any other: no PROJ context is shared
// between goroutines.
package crs
